"""Floor 1, the session file, import and export; the only place with SQL."""
