"""Floor 4, what leaves the program: recipe, tables and the sentences for codes."""
