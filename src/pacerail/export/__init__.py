"""Tables and texts for use outside pacerail."""
