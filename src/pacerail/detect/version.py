"""Which detector made a record; known without loading it."""

DETECTOR_VERSION = 14
"""Raised with every change of what measuring finds."""
