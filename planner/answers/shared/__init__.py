"""Answers on one mosaic that several instruments share: a plan for each, and what they give together."""
