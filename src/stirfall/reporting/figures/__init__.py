"""Figures of a campaign for paper and for readers: vector and 300 dots per inch, with caption and numbers."""

from stirfall.reporting.figures.drawing import Figure
from stirfall.reporting.figures.of_campaign import figures_of

__all__ = ["Figure", "figures_of"]
