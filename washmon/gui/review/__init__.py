"""The review of shifts: what waits, read one after the other, and signed."""
