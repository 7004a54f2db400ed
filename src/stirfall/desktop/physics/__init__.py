"""The physics in the window: the melt panel, what sets the film, and the assay calculator."""
