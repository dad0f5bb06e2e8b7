"""Which detector made a record; known without loading it."""

DETECTOR_VERSION = 18
"""Raised with every change of what measuring finds."""
