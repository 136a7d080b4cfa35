"""`angle`: what was asked, and what is made of it for one plan."""
