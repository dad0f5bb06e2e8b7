"""The edit sheet: one TOML file that describes all graphics of a video, read and checked."""
