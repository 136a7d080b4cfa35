"""Nebulae."""
