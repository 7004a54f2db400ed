"""What the dialog "Pool sessions" shows, as frozen values, and how it follows from a rehearsal; no widgets."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from stirfall.reporting.bench_words import said, source_text, sum_text
from stirfall.reporting.sentences import sentence

if TYPE_CHECKING:
    from stirfall.session.pooling import Pooled


@dataclass(frozen=True)
class SourceEntry:
    """One file that was added: its place, what its bench is called, and what is known of it or wrong with it.

    ``about`` says what it brings, ``problem`` why it cannot be read; both empty: it is being read.
    """

    place: str
    file_name: str
    bench: str
    about: str = ""
    problem: str = ""


@dataclass(frozen=True)
class PoolingState:
    """What is shown: the files, the verdict, what stands in the way, and what is done on the way.

    ``is_working`` says that something is being read, checked or written.
    """

    sources: tuple[SourceEntry, ...] = ()
    title: str = ""
    takes: frozenset[str] = frozenset()
    out: str = ""
    verdict: str = ""
    refusals: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    problem: str = ""
    can_pool: bool = False
    is_working: bool = False


@dataclass(frozen=True)
class Checked:
    """The words of a rehearsed pooling; ``abouts`` are one per source, in their order."""

    abouts: tuple[str, ...]
    verdict: str
    refusals: tuple[str, ...]
    notes: tuple[str, ...]
    can_pool: bool


def words_of(pooled: Pooled, *, decimal: str = ".") -> Checked:
    """Return the words of a pooling that was made in memory."""
    can_pool = pooled.state is not None
    return Checked(
        tuple(source_text(each) for each in pooled.sources),
        sum_text(pooled) if can_pool else sentence("pooling.stands_in_the_way"),
        tuple(said(each, decimal=decimal) for each in pooled.refusals),
        tuple(said(each, decimal=decimal) for each in pooled.notes),
        can_pool,
    )
