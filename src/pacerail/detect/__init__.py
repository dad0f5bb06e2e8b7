"""Finding flips: which refreshes brought a new frame, and where one was torn."""
