"""What `fit` says on screen, and `fit --around`."""
