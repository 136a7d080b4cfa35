"""A rehearsal on disk: its frames, and the texts beside them that tell what was put in."""
