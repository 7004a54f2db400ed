"""Floor 5, the command line: the same session layer as the window, said in text and JSON."""
