"""What the pages of the app share: the bar, the sky, inputs that are keys of the plan file."""
