"""Floor 5, the window; the only place that knows Qt."""
