"""Floor 5, the command line over the same session layer."""
