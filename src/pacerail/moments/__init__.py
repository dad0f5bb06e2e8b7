"""Candidate moments of a capture: cuts, black, white, fades, still spans, sound on and off."""
