"""Which detector made a record; known without loading it."""

DETECTOR_VERSION = 4
"""Raised with every change of what the detector finds."""
