"""Frame timing of screen captures: measured, summed up and composed for an edit.

Importing the package loads no codec, drawing or command-line library; each
stage loads what it needs (see DEVELOPERS.md for the map of the stages).
"""

__version__ = "0.1.0"
