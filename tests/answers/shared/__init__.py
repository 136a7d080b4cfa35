"""Tests of mosaics that several instruments share."""
