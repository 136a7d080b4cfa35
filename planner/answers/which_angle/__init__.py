"""Which camera angle: panels and overlap at every angle, and how that becomes known."""
