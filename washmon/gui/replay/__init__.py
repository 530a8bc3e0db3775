"""A recorded shift on the Board: played, paused, stepped and searched."""
