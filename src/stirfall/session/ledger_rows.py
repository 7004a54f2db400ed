"""Choosing and ordering the rows of a long ledger in small steps, so that nobody waits; pure generators.

Each generator yields after a few hundred attempts and returns the result at its end.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable, Generator, Iterable, Sequence
from typing import Any, TypeVar

from stirfall.bench.records import Attempt

Places = list[int]
Steps = Generator[None, None, Places]
SortKey = Callable[[Attempt], Any]
T = TypeVar("T")
_STEP = 200
_TEXT_STEP = 50  # writing the cells of a row takes longer than looking at its values
_CHUNK = 2000


def fitting_places(
    attempts: Sequence[Attempt],
    fits: Callable[[Attempt], bool] | None,
    *,
    needle: str = "",
    text: Callable[[Attempt], str] = lambda _attempt: "",
) -> Steps:
    """Return the places of the attempts that fit and whose text holds ``needle``, the newest first.

    ``text`` is asked only for attempts that fit; letter case does not matter, and every word must be there.
    """
    words = needle.casefold().split()
    step = _TEXT_STEP if words else _STEP
    found: Places = []
    for count, place in enumerate(range(len(attempts) - 1, -1, -1), 1):
        attempt = attempts[place]
        if (fits is None or fits(attempt)) and (not words or _holds(text(attempt), words)):
            found.append(place)
        if count % step == 0:
            yield
    return found


def _holds(text: str, words: list[str]) -> bool:
    return all(word in text for word in words)


def sorted_places(
    attempts: Sequence[Attempt], places: Iterable[int], key: SortKey, *, descending: bool = False
) -> Steps:
    """Return the places in the order of ``key``; what has no key (None) stands last either way; stable.

    Sorted in chunks that are then merged, so that no single step takes long.
    """
    # Keys stand beside the places, not in pairs with them: a hundred thousand pairs make the memory be searched.
    keys: dict[int, Any] = {}
    known: Places = []
    unknown: Places = []
    for count, place in enumerate(places, 1):
        value = key(attempts[place])
        if value is None:
            unknown.append(place)
        else:
            keys[place] = value
            known.append(place)
        if count % _STEP == 0:
            yield
    chunks = []
    for start in range(0, len(known), _CHUNK):
        chunks.append(sorted(known[start : start + _CHUNK], key=keys.__getitem__, reverse=descending))
        yield
    ordered: Places = []
    for count, place in enumerate(heapq.merge(*chunks, key=keys.__getitem__, reverse=descending), 1):
        ordered.append(place)
        if count % _STEP == 0:
            yield
    return ordered + unknown


def finished(steps: Generator[None, None, T]) -> T:
    """Return the result of a generator that is run to its end at once."""
    while True:
        try:
            next(steps)
        except StopIteration as end:
            result: T = end.value
            return result
