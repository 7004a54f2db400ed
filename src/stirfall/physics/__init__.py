"""Floor 1, melt physics and the mass balance."""
