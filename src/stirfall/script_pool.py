"""Pooling for scripts: sessions of several benches become one."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from stirfall.script_plans import explained

if TYPE_CHECKING:
    from stirfall.session.benches import HoldsElsewhere
    from stirfall.session.pooling import Pooled


@dataclass(frozen=True)
class PoolReport:
    """How pooling went: ``text`` in finished sentences, ``found`` with all of it, ``path`` where it was written."""

    found: Pooled
    text: tuple[str, ...]
    path: Path | None


@dataclass(frozen=True)
class BenchReport:
    """Does it hold for others? ``text`` in finished sentences, the verdict first; ``found`` with all of it."""

    found: HoldsElsewhere
    text: tuple[str, ...]


@explained
def pool(
    out: str | Path | None,
    sources: Mapping[str, str | Path],
    *,
    title: str = "",
    takes: Iterable[str] = (),
) -> PoolReport:
    """Join sessions into a new session file; ``sources`` maps what a bench is called to its session or package.

    ``out`` None writes nothing. ``takes`` may name "runs", "grades" and "photos". Raises InputError
    ``pool.refused`` where the sessions cannot be one, and FileTroubleError for files that cannot be used.
    """
    from stirfall.reporting.bench_words import pool_lines
    from stirfall.session.pooling import pool as join
    from stirfall.session.pooling_sources import read_source

    read = [read_source(Path(path), bench) for bench, path in sources.items()]
    pooled = join(read, title=title, takes=takes)
    pooled.raise_if_refused()
    if out is not None:
        pooled.write(out).close()
    return PoolReport(pooled, tuple(pool_lines(pooled)), None if out is None else Path(out))
