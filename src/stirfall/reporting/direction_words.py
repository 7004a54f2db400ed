"""The advice about the exposure in words, in steps so small that none of them turns it over."""

from __future__ import annotations

from stirfall.inference.direction import Direction
from stirfall.reporting.sentences import sentence
from stirfall.reporting.shares import percent


def direction_sentence(direction: Direction) -> str:
    """Say which way to move the exposure and how sure that is: sure, probably, perhaps, or not known.

    The probability stands in the sentence, so that what lies on either side of a step reads almost alike.
    """
    if direction.certainty == "unsure":
        return sentence("direction.unsure")
    code = f"direction.{direction.certainty}_{direction.leans_to}"
    return sentence(code, {"probability": percent(direction.prob_lean)})
