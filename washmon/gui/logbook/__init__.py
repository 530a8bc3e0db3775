"""The Logbook: past shifts to find, to read, to decide on and to export."""
