"""Floor 1, what the attempts say: arrays in, frozen results out."""
