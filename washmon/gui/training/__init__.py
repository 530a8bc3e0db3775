"""Training by practice: the course, who passed what of it, sign-offs and certificates."""
