"""The domain: a wash line's set-up, what happens on it, and the state that follows."""
