"""The Board: the live screen of a shift."""
