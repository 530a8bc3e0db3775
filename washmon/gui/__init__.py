"""The window: draws snapshots, sends commands; the only room that knows Qt."""
