"""Session files and their replay: a shift that can be handed on, looked at again, taught with."""
