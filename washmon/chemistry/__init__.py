"""Pure numerics of the tank: no clock, no files, plain numbers in and plain numbers out."""
