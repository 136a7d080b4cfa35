"""The Review page while frames come in."""
