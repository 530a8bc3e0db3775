"""What a practice attempt came to: facts, a score whose parts are shown, and its picture."""
