"""Composing without a screen: what fits with a nebula."""
