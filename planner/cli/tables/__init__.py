"""Tables on screen that lose no digit, however narrow the screen is."""
