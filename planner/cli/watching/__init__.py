"""`planner review --watch`: the loop and what it shows."""
