"""The size a picture was drawn at, from what enlarging it left behind."""
