"""Floor 2, operating limits and the choice of the next attempt."""
