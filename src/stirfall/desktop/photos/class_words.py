"""The four classes in words, as they are told where one of them is to be chosen."""

from __future__ import annotations

from collections.abc import Mapping

from stirfall.bench.outcomes import Outcome

CLASS_WORDS: Mapping[Outcome, str] = {
    Outcome.NOTHING_PARTED: "The solids stayed in the metal.",
    Outcome.PARTLY_PARTED: "Some solids left the metal, some stayed.",
    Outcome.PARTED_BEADS: "The solids left; the metal is beads or a few pieces.",
    Outcome.CLEAN: "The solids left; the metal is one pool.",
}
