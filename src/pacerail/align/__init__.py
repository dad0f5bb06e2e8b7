"""Finds where the content of one capture lies in another: offset, confidence, drift."""
