"""What `review` does with the frames of a folder."""
