"""Drawing: styles, type, tiles, readouts and strips."""
