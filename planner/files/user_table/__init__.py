"""The user's own table of panels, as described in the plan file."""
