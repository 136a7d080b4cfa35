"""The machine forms: one JSON document for each question."""
