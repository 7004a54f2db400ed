"""Floor 0, the words of the work: frozen values and pure functions; no window, no SQL, no files, no clock."""
