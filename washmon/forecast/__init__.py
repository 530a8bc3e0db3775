"""How fast a fill uses up its free chlorine, how far that is known, and what follows from it."""
