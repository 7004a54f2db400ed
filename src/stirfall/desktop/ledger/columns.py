"""Every column that the ledger can show, and the user's choice and order of them; pure."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from functools import cache
from typing import TYPE_CHECKING, Any

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Factor
from stirfall.bench.records import Attempt
from stirfall.bench.running import Run, seconds_between
from stirfall.bench.units import format_number, human_time
from stirfall.desktop.bench_form.look import titled
from stirfall.desktop.bench_form.seen import SEEN
from stirfall.desktop.bench_form.typed import Quantity
from stirfall.desktop.bench_form.weighing import MASS_LABELS, MASS_NAMES, SHEET
from stirfall.desktop.ledger.cells import local_time, moment_of, note_text, outcome_text, place_text, value_cell
from stirfall.desktop.ledger.proof_places import ProofPlace, proof_places
from stirfall.desktop.shown import Shown

if TYPE_CHECKING:
    from stirfall.physics.film import Film
    from stirfall.session.weighing import Weighing

SortKey = Callable[[Attempt], Any]
MAIN, CONDITIONS, SEEN_GROUP, WEIGHING, OTHER = (
    "",
    "Conditions",
    "What was seen",
    "Weighing",
    "Run, proof, photos and grades",
)
GROUPS = (MAIN, CONDITIONS, SEEN_GROUP, WEIGHING, OTHER)
_DIGITS = re.compile(r"(\d+)")


@dataclass(frozen=True)
class Column:
    """One column: its lasting key, its title, the text of a cell, and the key to sort by (None: unknown)."""

    key: str
    title: str
    text: Callable[[Attempt], str]
    sort_key: SortKey
    is_number: bool = False
    group: str = MAIN
    usual: bool = True


@dataclass
class Source:
    """What cells are written from beside their attempt; what is dear to work out is kept."""

    campaign: CampaignState | None = None
    photographed: frozenset[str] = frozenset()
    _weighed: dict[str, tuple[Attempt, Weighing]] = field(default_factory=dict, repr=False)
    _films: dict[str, tuple[Attempt, Film | None]] = field(default_factory=dict, repr=False)
    _runs: dict[str, Run] = field(default_factory=dict, repr=False)
    _grades: dict[str, str] = field(default_factory=dict, repr=False)
    _places: Mapping[str, ProofPlace] | None = field(default=None, repr=False)

    def show(self, campaign: CampaignState | None, photographed: frozenset[str]) -> bool:
        """Take another state of the campaign; what was worked out is kept while only attempts changed.

        Return whether more changed than attempts.
        """
        old, photos = self.campaign, self.photographed
        self.campaign, self.photographed = campaign, photographed
        is_other = campaign is None or old is None or _beside(old) != _beside(campaign) or photos != photographed
        if is_other:
            self._weighed.clear()
            self._films.clear()
        self._runs = {run.id: run for run in campaign.runs} if campaign else {}
        self._grades = {each.attempt_id: each.outcome for each in campaign.regrades} if campaign else {}
        self._places = None
        return is_other

    def weighing(self, attempt: Attempt) -> Weighing | None:
        """Return what the weighings of an attempt add up to, None where nothing was weighed."""
        if self.campaign is None or (attempt.masses.charge_g is None and attempt.masses.product_g is None):
            return None
        kept = self._weighed.get(attempt.id)
        if kept is None or kept[0] is not attempt:
            from stirfall.session.weighing import attempt_weighing

            kept = self._weighed[attempt.id] = (attempt, attempt_weighing(self.campaign, attempt))
        return kept[1]

    def film(self, attempt: Attempt) -> Film | None:
        """Return the film index of an attempt's metal, None where its jar does not say enough."""
        if self.campaign is None or attempt.jar_id is None:
            return None
        kept = self._films.get(attempt.id)
        if kept is None or kept[0] is not attempt:
            from stirfall.session.film import film_of_attempt

            kept = self._films[attempt.id] = (attempt, film_of_attempt(self.campaign, attempt))
        return kept[1]

    def run_seconds(self, attempt: Attempt) -> float | None:
        """Return how long the guided run of an attempt took, from its first event to its last."""
        run = self._runs.get(attempt.run_id or "")
        if run is None or not run.events:
            return None
        return max(seconds_between(run.events[0].moment, run.events[-1].moment), 0.0)

    def proof_place(self, attempt: Attempt) -> ProofPlace | None:
        """Return the place of an attempt that is marked for a proof."""
        if self.campaign is None or attempt.proof_id is None:
            return None
        if self._places is None:
            self._places = proof_places(self.campaign)
        return self._places.get(attempt.id)

    def second_grade(self, attempt: Attempt) -> str | None:
        """Return the class of the second, blind grading."""
        return self._grades.get(attempt.id)


def _beside(campaign: CampaignState) -> tuple[object, ...]:
    marked = tuple(each for each in campaign.attempts if each.proof_id is not None) if campaign.proofs else ()
    own = campaign.settings, campaign.lots, campaign.jars, campaign.factors, campaign.runs, campaign.regrades
    return *own, campaign.proofs, marked  # one marked attempt moves the places of others


def base_columns(factors: Iterable[Factor], decimal: str) -> tuple[Column, ...]:
    """Return the columns that are shown until others are chosen: number, outcome, time, place, factors, note."""
    return (
        Column("number", "No.", lambda one: str(one.number), lambda one: one.number, is_number=True),
        Column("outcome", "Outcome", outcome_text, lambda one: outcome_text(one).casefold()),
        Column("time", "Time", lambda one: local_time(moment_of(one)), _when),
        Column("place", "Jar, lot", place_text, lambda one: natural(place_text(one)) if _has_place(one) else None),
        *(_of_factor(factor, Shown.of(decimal)) for factor in factors),
        Column("note", "Note", note_text, lambda one: note_text(one).casefold() or None),
    )


def all_columns(source: Source, decimal: str) -> tuple[Column, ...]:
    """Return every column of a campaign, the usual ones first."""
    factors = source.campaign.visible_factors if source.campaign else ()
    hidden = [factor for factor in source.campaign.factors if factor.hidden] if source.campaign else []
    shown = Shown.of(decimal)
    return (
        *base_columns(factors, decimal),
        *(_unusual(_of_factor(factor, shown)) for factor in hidden),
        *_seen_columns(source, shown),
        *_weighing_columns(source, shown),
        *_other_columns(source, shown),
    )


def _unusual(column: Column) -> Column:
    return Column(
        column.key, column.title, column.text, column.sort_key, column.is_number, column.group, usual=False
    )


def _of_factor(factor: Factor, shown: Shown) -> Column:
    name, unit = factor.name, factor.unit
    label = "" if factor.is_choice else shown.label(unit)
    title = f"{titled(name)}, {label}" if label else titled(name)

    def text(attempt: Attempt) -> str:
        return value_cell(attempt.conditions.get(name), shown.style, unit)

    return Column(
        f"factor:{name}", title, text, lambda one: one.conditions.get(name), not factor.is_choice, CONDITIONS
    )


def _when(attempt: Attempt) -> float | None:
    moment = moment_of(attempt)
    return moment.timestamp() if moment else None


def _has_place(attempt: Attempt) -> bool:
    return bool(attempt.jar_id or attempt.lot_id)


@cache
def natural(text: str) -> tuple[tuple[int, int | str], ...]:
    """Return a key that puts J2 before J10."""
    parts = _DIGITS.split(text.casefold())
    return tuple((0, int(part)) if part.isdigit() else (1, part) for part in parts if part)


def _seen_columns(source: Source, shown: Shown) -> tuple[Column, ...]:
    return (
        _words("look", "Surface", lambda one: one.facts.look, SEEN_GROUP),
        _words("operator", "Who", lambda one: one.facts.operator, SEEN_GROUP),
        _words("tool", "Tool", lambda one: one.facts.tool, SEEN_GROUP),
        *(_number(each, "facts", shown, SEEN_GROUP) for each in SEEN),
        Column("film", "Film index", _film_text(source, shown), _film_key(source), True, SEEN_GROUP, usual=False),
        _words("gone_past", "Limits gone past", _gone_past, SEEN_GROUP),
        _words("ages", "Ages typed by hand", _overrides, SEEN_GROUP),
        Column(
            "ticked",
            "Checks ticked",
            lambda one: str(len(one.facts.ticked)) if one.facts.ticked else "",
            lambda one: len(one.facts.ticked) or None,
            True,
            SEEN_GROUP,
            usual=False,
        ),
    )


def _weighing_columns(source: Source, shown: Shown) -> tuple[Column, ...]:
    masses = (Quantity(name, MASS_LABELS[name], "g") for name in MASS_NAMES)
    return (
        *(_number(each, "masses", shown, WEIGHING) for each in masses),
        _share("gross_yield", "Gross yield, %", source, shown),
        _share("recovery", "Metal recovery, %", source, shown),
        _share("closure", "Closure, %", source, shown),
        _words("oil_removed", "Oil removed", lambda one: one.sheet.oil_removed, WEIGHING),
        *(_number(each, "sheet", shown, WEIGHING) for each in SHEET),
    )


def _bench(attempt: Attempt) -> str:
    return "" if attempt.origin is None else attempt.origin.bench


def _other_columns(source: Source, shown: Shown) -> tuple[Column, ...]:
    def run_time(attempt: Attempt) -> str:
        seconds = source.run_seconds(attempt)
        return "" if seconds is None else human_time(round(seconds), "s", decimal=shown.decimal)

    def proof(attempt: Attempt) -> str:
        place = source.proof_place(attempt)
        is_only = source.campaign is not None and len(source.campaign.proofs) == 1
        return "" if place is None else place.text(is_only_proof=is_only)

    def photos(attempt: Attempt) -> str:
        return "yes" if attempt.id in source.photographed else ""

    def second(attempt: Attempt) -> str:
        grade = source.second_grade(attempt) or ""
        return f"{grade} (differs)" if grade and grade != attempt.outcome.value else grade

    return (
        Column("run_time", "Run time", run_time, source.run_seconds, True, OTHER, usual=False),
        Column("proof", "Proof", proof, source.proof_place, group=OTHER, usual=False),
        _words("bench", "Bench", _bench, OTHER),
        _words("photos", "Photos", photos, OTHER),
        _words("second_grade", "Second grade", second, OTHER),
        _words("parted", "Solids left", lambda one: one.parted.value if one.parted else "", OTHER),
        _words("pooled", "One pool", lambda one: one.pooled.value if one.pooled else "", OTHER),
        Column(
            "recorded",
            "Recorded",
            lambda one: local_time(one.recorded_at),
            lambda one: one.recorded_at.timestamp() if one.recorded_at else None,
            group=OTHER,
            usual=False,
        ),
    )


def _words(key: str, title: str, text: Callable[[Attempt], str], group: str) -> Column:
    return Column(key, title, text, lambda one: text(one).casefold() or None, group=group, usual=False)


def _number(quantity: Quantity, part: str, shown: Shown, group: str) -> Column:
    name, unit = quantity.name, quantity.unit

    def value(attempt: Attempt) -> float | None:
        found: float | None = getattr(getattr(attempt, part), name)
        return found

    def text(attempt: Attempt) -> str:
        found = value(attempt)
        return "" if found is None else shown.number(found, unit)

    return Column(name, quantity.titled(shown.style), text, value, True, group, usual=False)


def _share(name: str, title: str, source: Source, shown: Shown) -> Column:
    def value(attempt: Attempt) -> float | None:
        weighing = source.weighing(attempt)
        found = getattr(weighing, name) if weighing is not None else None
        return None if found is None else float(found.value)

    def text(attempt: Attempt) -> str:
        found = value(attempt)
        return "" if found is None else format_number(100.0 * found, decimal=shown.decimal)

    return Column(name, title, text, value, True, WEIGHING, usual=False)


def _film_text(source: Source, shown: Shown) -> Callable[[Attempt], str]:
    def text(attempt: Attempt) -> str:
        film = source.film(attempt)
        return "" if film is None else format_number(film.index, digits=2, decimal=shown.decimal)

    return text


def _film_key(source: Source) -> SortKey:
    def key(attempt: Attempt) -> float | None:
        film = source.film(attempt)
        return None if film is None else film.index

    return key


def _gone_past(attempt: Attempt) -> str:
    return "; ".join(kept.text for kept in attempt.facts.accepted)


def _overrides(attempt: Attempt) -> str:
    return "; ".join(f"{item.factor}: {item.reason}" for item in attempt.overrides)


# -- the user's choice ------------------------------------------------------------------------------------


@dataclass(frozen=True)
class ColumnChoice:
    """Which columns are shown and in which order, by key; what was never chosen stands as usual.

    ``order`` may hold keys of other campaigns; they are kept.
    """

    order: tuple[str, ...] = ()
    shown: frozenset[str] = frozenset()
    hidden: frozenset[str] = frozenset()

    def is_shown(self, column: Column) -> bool:
        """Whether a column is shown."""
        return column.key in self.shown or (column.usual and column.key not in self.hidden)

    def arranged(self, columns: Iterable[Column]) -> tuple[Column, ...]:
        """Return the shown columns in their order; one without a place stands behind its usual neighbour."""
        wanted: list[Column] = []
        ranks: Mapping[str, int] = {key: at for at, key in enumerate(self.order)}
        placed = sorted((each for each in columns if each.key in ranks), key=lambda each: ranks[each.key])
        before: dict[str, str] = {}
        last = ""
        for each in columns:
            before[each.key], last = last, each.key
        wanted = list(placed)
        for each in columns:
            if each.key not in ranks:
                keys = [one.key for one in wanted]
                at = keys.index(before[each.key]) + 1 if before[each.key] in keys else 0
                wanted.insert(at, each)
        return tuple(each for each in wanted if self.is_shown(each))

    def with_shown(self, key: str, is_shown: bool) -> ColumnChoice:
        """Return the choice with one column shown or hidden."""
        shown, hidden = (
            (self.shown | {key}, self.hidden - {key})
            if is_shown
            else (
                self.shown - {key},
                self.hidden | {key},
            )
        )
        return ColumnChoice(self.order, shown, hidden)

    def with_order(self, keys: Iterable[str]) -> ColumnChoice:
        """Return the choice with these columns in this order; others keep their places behind them."""
        first = tuple(keys)
        return ColumnChoice((*first, *(key for key in self.order if key not in first)), self.shown, self.hidden)

    def to_text(self) -> str:
        """Return the choice as the setting keeps it."""
        content = {"order": self.order, "shown": sorted(self.shown), "hidden": sorted(self.hidden)}
        return json.dumps(content, ensure_ascii=False)

    @classmethod
    def of_text(cls, text: str) -> ColumnChoice:
        """Return the choice of a setting; one that cannot be read is as none."""
        try:
            content = json.loads(text) if text else {}
            order, shown, hidden = (
                tuple(str(key) for key in content.get(name, ())) for name in ("order", "shown", "hidden")
            )
        except (ValueError, TypeError, AttributeError):
            return cls()
        return cls(order, frozenset(shown), frozenset(hidden))
