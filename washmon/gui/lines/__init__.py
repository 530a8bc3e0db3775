"""All running lines at once."""
