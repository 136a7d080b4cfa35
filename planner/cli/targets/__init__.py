"""What `targets` takes and says on screen."""
