"""Composing drawings with footage and writing clips."""
