"""What there is to frame, for the app: made behind the page and kept, as rows, as frames at an angle."""
