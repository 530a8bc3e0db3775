"""Practice: a simulated wash line, so that mistakes cost nothing."""
