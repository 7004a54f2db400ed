"""Floor 3, the open document: one state, one door for writes, named undo."""
