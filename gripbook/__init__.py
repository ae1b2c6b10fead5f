"""gripbook."""
