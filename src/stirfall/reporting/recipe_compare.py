"""Two recipes beside each other: which conditions moved, what became of the chance, and what the evidence gained.

Either may be an issued one, read from its JSON, or the present one. A difference of two chances of one campaign is
given with both intervals and never called real: the attempts behind the older one are behind the newer one too.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from stirfall.bench.estimates import whole_percent
from stirfall.reporting.recipe_handbook import number_list
from stirfall.reporting.recipe_parts import EvidenceAttempt, Recipe, RecipeProof, RecipeValue
from stirfall.reporting.sentences import sentence
from stirfall.reporting.shares import counted, in_full

SCHEMA = "stirfall.recipe-comparison/1"
HEADINGS = ("", "First", "Second", "What moved")
_NONE = "none"


@dataclass(frozen=True)
class ComparedRow:
    """One thing in both recipes, in words; ``moved`` says how it differs, "" where it is the same."""

    name: str
    first: str
    second: str
    moved: str


@dataclass(frozen=True)
class EvidenceChange:
    """What became of the attempts: numbers of those added, struck out, taken back in, and corrected since."""

    added: tuple[int, ...] = ()
    struck: tuple[int, ...] = ()
    unstruck: tuple[int, ...] = ()
    corrected: tuple[int, ...] = ()
    missing: tuple[int, ...] = ()
    listed: bool = True

    @property
    def is_none(self) -> bool:
        """Whether both rest on the same records."""
        return self.listed and not (self.added or self.struck or self.unstruck or self.corrected or self.missing)


@dataclass(frozen=True)
class ComparedRecipes:
    """Both names, the table, what changed in the evidence, and all of it in sentences."""

    first: str
    second: str
    rows: tuple[ComparedRow, ...]
    evidence: EvidenceChange
    sentences: tuple[str, ...]


def compare_recipes(first: Recipe, second: Recipe, *, decimal: str = ".") -> ComparedRecipes:
    """Return how the second recipe differs from the first."""
    return _Comparer(first, second, decimal).made()


def recipe_name(recipe: Recipe) -> str:
    """Return what a recipe is called in a comparison: its number, or the present one."""
    day = f"{recipe.created_at:%Y-%m-%d}"
    return f"the present recipe ({day})" if recipe.number is None else f"recipe no. {recipe.number} ({day})"


def changed_evidence(first: Sequence[EvidenceAttempt], second: Sequence[EvidenceAttempt]) -> EvidenceChange:
    """Return what became of the attempts of the first list; records are told apart by their ids."""
    before, after = ({each.id: each for each in attempts} for attempts in (first, second))
    both = [(old, after[key]) for key, old in before.items() if key in after]

    def numbers(found: Iterable[EvidenceAttempt]) -> tuple[int, ...]:
        return tuple(sorted(each.number for each in found))

    return EvidenceChange(
        added=numbers(each for key, each in after.items() if key not in before),
        struck=numbers(new for old, new in both if _is_struck(new) and not _is_struck(old)),
        unstruck=numbers(new for old, new in both if _is_struck(old) and not _is_struck(new)),
        corrected=numbers(new for old, new in both if old.digest != new.digest),
        missing=numbers(each for key, each in before.items() if key not in after),
    )


def _is_struck(attempt: EvidenceAttempt) -> bool:
    return attempt.outcome == "struck out"


@dataclass(frozen=True)
class _Comparer:
    first: Recipe
    second: Recipe
    decimal: str

    def made(self) -> ComparedRecipes:
        rows = tuple(self._rows())
        evidence = self._evidence()
        return ComparedRecipes(
            recipe_name(self.first),
            recipe_name(self.second),
            rows,
            evidence,
            tuple(self._sentences(rows, evidence)),
        )

    def _say(self, key: str, **params: object) -> str:
        return sentence(f"recipes.{key}", params, decimal=self.decimal)

    # -- the table -----------------------------------------------------------------------------------------

    def _rows(self) -> Iterator[ComparedRow]:
        yield self._chance()
        names = dict.fromkeys(value.name for recipe in (self.first, self.second) for value in recipe.values)
        before, after = ({value.name: value for value in each.values} for each in (self.first, self.second))
        for name in names:
            yield self._condition(name, before.get(name), after.get(name))
        yield self._row("attempts used", *(counted(each.evidence.used) for each in self._both))
        yield self._row("inside every range", *(_inside(each) for each in self._both))
        yield self._row("batch", *(_batch(each) for each in self._both))
        yield self._row("proof", *(_proofs(each.proofs) for each in self._both))
        yield self._row("blocked", *("yes" if each.blocked else "no" for each in self._both))
        yield self._row("program", *(each.program_version for each in self._both))

    @property
    def _both(self) -> tuple[Recipe, Recipe]:
        return self.first, self.second

    @staticmethod
    def _row(name: str, first: str, second: str) -> ComparedRow:
        return ComparedRow(name, first, second, "" if first == second else "changed")

    def _chance(self) -> ComparedRow:
        before, after = (whole_percent(each.probability.mean) for each in self._both)
        moved = self._points(after - before)
        return ComparedRow("chance", in_full(self.first.probability), in_full(self.second.probability), moved)

    def _points(self, points: int) -> str:
        if not points:
            return ""
        return f"{counted(abs(points), 'point')} {'higher' if points > 0 else 'lower'}"

    def _condition(self, name: str, before: RecipeValue | None, after: RecipeValue | None) -> ComparedRow:
        shown = [self._shown(each) for each in (before, after)]
        if before is None or after is None:
            return ComparedRow(name, shown[0], shown[1], "added" if before is None else "left out")
        moved = []
        if before.value != after.value:
            moved.append(self._moved(before, after))
        if (before.low, before.high, before.levels) != (after.low, after.high, after.levels):
            moved.append("range changed")
        return ComparedRow(name, shown[0], shown[1], ", ".join(moved))

    def _shown(self, value: RecipeValue | None) -> str:
        if value is None:
            return _NONE
        span = value.shown_range(decimal=self.decimal)
        shown = value.shown(decimal=self.decimal)
        return f"{shown} ({span})" if span and span != shown else f"{shown} (no range)" if not span else shown

    @staticmethod
    def _moved(before: RecipeValue, after: RecipeValue) -> str:
        if isinstance(before.value, str) or isinstance(after.value, str) or before.unit != after.unit:
            return "another value"
        return "higher" if after.value > before.value else "lower"

    # -- sentences -----------------------------------------------------------------------------------------

    def _evidence(self) -> EvidenceChange:
        attempts = [each.evidence.attempts for each in self._both]
        unlisted = any(each.evidence.used and not listed for each, listed in zip(self._both, attempts, strict=True))
        return EvidenceChange(listed=False) if unlisted else changed_evidence(*attempts)

    def _sentences(self, rows: Sequence[ComparedRow], evidence: EvidenceChange) -> Iterator[str]:
        yield from self._conditions_said(rows)
        batches = [_batch(each) for each in self._both]
        if batches[0] != batches[1]:
            yield self._say("moved", name="batch", first=batches[0], second=batches[1])
        yield self._chance_said()
        yield from self._evidence_said(evidence)
        proofs = [_proofs(each.proofs) for each in self._both]
        if proofs[0] != proofs[1]:
            yield self._say("proof", first=proofs[0], second=proofs[1])
        yield from self._limits_said()
        if self.first.fingerprint == self.second.fingerprint:
            yield self._say("same_session")

    def _conditions_said(self, rows: Sequence[ComparedRow]) -> Iterator[str]:
        names = {value.name for each in self._both for value in each.values}
        of_conditions = [row for row in rows if row.name in names and row.moved]
        values = [row for row in of_conditions if row.moved != "range changed"]
        ranges = [row.name for row in of_conditions if "range changed" in row.moved]
        if not values:
            yield self._say("same_conditions")
        for row in values:
            yield self._say("moved", name=row.name, first=row.first, second=row.second)
        if ranges:
            yield self._say("ranges", names=", ".join(ranges))

    def _chance_said(self) -> str:
        first, second = (each.probability for each in self._both)
        told = {"first": in_full(first), "second": in_full(second)}
        if whole_percent(first.mean) == whole_percent(second.mean):
            return self._say("same_chance", **told)
        apart = first.upper < second.lower or second.upper < first.lower
        return self._say("chance_apart" if apart else "chance_overlaps", **told)

    def _evidence_said(self, change: EvidenceChange) -> Iterator[str]:
        if not change.listed:
            used = [each.evidence.used for each in self._both]
            yield self._say("not_listed", first=used[0], second=used[1])
        elif change.is_none:
            yield self._say("same_evidence")
        for key in ("added", "struck", "unstruck", "corrected", "missing"):
            numbers: tuple[int, ...] = getattr(change, key)
            if numbers:
                yield self._say(f"evidence_{key}", count=counted(len(numbers)), numbers=number_list(numbers))

    def _limits_said(self) -> Iterator[str]:
        before, after = (dict.fromkeys(each.limits) for each in self._both)
        for text in after:
            if text not in before:
                yield self._say("limit_new", text=text)
        for text in before:
            if text not in after:
                yield self._say("limit_gone", text=text)
        if before == after:
            yield self._say("same_limits")


def _inside(recipe: Recipe) -> str:
    clean, trials = recipe.evidence.inside
    return f"{clean} clean of {trials}"


def _batch(recipe: Recipe) -> str:
    charge = recipe.batch.line("charge") if recipe.batch is not None else None
    return charge.shown_after if charge is not None else "not known"


def _proofs(proofs: Sequence[RecipeProof]) -> str:
    return "; ".join(f"{each.verdict} ({each.made - each.failures} of {each.made})" for each in proofs) or _NONE


# --------------------------------------------------------------------------------------------------- other forms


def comparison_markdown(compared: ComparedRecipes) -> str:
    """Return the comparison as Markdown: sentences, then the table."""
    from stirfall.reporting.markdown import plain

    head = ("", compared.first, compared.second, HEADINGS[3])
    rows = [(row.name, row.first, row.second, row.moved) for row in compared.rows]
    table = [head, ("---",) * 4, *rows]
    lines = "\n".join("| " + " | ".join(plain(cell) or " " for cell in row) + " |" for row in table)
    said = "\n".join(f"- {plain(text)}" for text in compared.sentences)
    return f"# {plain(compared.second)} against {plain(compared.first)}\n\n{said}\n\n{lines}\n"


def comparison_json(compared: ComparedRecipes) -> dict[str, object]:
    """Return the comparison as a JSON document."""
    change = compared.evidence
    return {
        "schema": SCHEMA,
        "first": compared.first,
        "second": compared.second,
        "rows": [dict(vars(row)) for row in compared.rows],
        "evidence": {
            "listed": change.listed,
            **{key: list(getattr(change, key)) for key in ("added", "struck", "unstruck", "corrected", "missing")},
        },
        "sentences": list(compared.sentences),
    }
