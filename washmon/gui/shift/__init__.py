"""The beginning and the end of a shift."""
