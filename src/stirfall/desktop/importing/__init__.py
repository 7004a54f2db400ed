"""A table of attempts brought in: how it was read, what its columns and words are, what would come of it."""
