"""Cautions by class of metal, read from the shipped table; never empty, never filtered."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from functools import cache

from stirfall.bench.errors import FileTroubleError
from stirfall.bench.materials import Caution, Cautions, MaterialClass
from stirfall.storage.shipped import shipped

_SENTENCE_END = re.compile(r"(?<=[.:])\s+(?=[A-Z])")


@dataclass(frozen=True)
class LabelWords:
    """The hazard words on the label of a jar of crude and on that of a jar of residue, with their source."""

    jar: str
    residue: str
    source: str


@cache
def load_label_words(material: MaterialClass) -> LabelWords:
    """Return the hazard words for labels of one class of metal.

    Raises FileTroubleError ``cautions.unreadable`` when the shipped table has none: no label goes without them.
    """
    path = shipped("resources/cautions.toml")
    try:
        entry = tomllib.loads(path.read_text(encoding="utf-8"))["label"][material.value]
        words = LabelWords(*(str(entry[name]).strip() for name in ("jar", "residue", "source")))
    except (OSError, KeyError, TypeError, tomllib.TOMLDecodeError) as error:
        raise FileTroubleError("cautions.unreadable", path=str(path)) from error
    if not words.jar or not words.residue:
        raise FileTroubleError("cautions.unreadable", path=str(path))
    return words


@cache
def load_cautions(material: MaterialClass) -> Cautions:
    """Return the cautions for one class of metal, in the order in which they are shown.

    Raises FileTroubleError ``cautions.unreadable`` when the shipped table is missing, broken or has nothing for
    the class: a bench form without cautions must not open.
    """
    path = shipped("resources/cautions.toml")
    try:
        table = tomllib.loads(path.read_text(encoding="utf-8"))
        headline = str(table["headline"][material.value])
        items = tuple(
            Caution(str(item["key"]), str(item["text"]), str(item["source"]), bool(item.get("check", False)))
            for item in table["item"]
            if material.value in item["for"]
        )
    except (OSError, KeyError, TypeError, tomllib.TOMLDecodeError) as error:
        raise FileTroubleError("cautions.unreadable", path=str(path)) from error
    if not items or not any(item.check for item in items):
        raise FileTroubleError("cautions.unreadable", path=str(path))
    return Cautions(material, headline, items)


def shortened(text: str, limit: int) -> str:
    """Return the first sentences, as many as fit in ``limit`` letters, at least one; a sentence is never cut."""
    kept = ""
    for part in _SENTENCE_END.split(text):
        if kept and len(kept) + 1 + len(part) > limit:
            break
        kept = f"{kept} {part}".strip()
    return kept
