"""Practice scenarios made from recorded shifts."""
