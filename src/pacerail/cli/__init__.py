"""The command line: parses, calls the pipeline, prints."""
