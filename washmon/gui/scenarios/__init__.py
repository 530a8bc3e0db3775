"""The editor of practice scenarios."""
