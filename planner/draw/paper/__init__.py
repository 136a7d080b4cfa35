"""Pages in black ink: site sheet, angle sheet, night sheet."""
