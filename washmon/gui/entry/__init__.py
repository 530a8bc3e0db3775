"""Entries: from a key press to a journal event, in seconds."""
