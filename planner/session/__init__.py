"""The plan being composed in a session of the app. Knows no screen; tested without one."""
