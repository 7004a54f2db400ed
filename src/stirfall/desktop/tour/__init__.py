"""The first-run tour: a walk of the real window in under three minutes, that changes nothing."""
