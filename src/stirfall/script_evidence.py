"""Evidence verbs of a session as scripts see it: what is compared, what drifts, what leaves the program."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Unpack

from stirfall.script_plans import explained
from stirfall.session.script_words import BatchValues, Given, moment

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping
    from pathlib import Path

    from stirfall.bench.comparisons import Group
    from stirfall.reporting.recipe_compare import ComparedRecipes
    from stirfall.reporting.recipe_issue import IssuedRow
    from stirfall.script_import import ImportReport, ImportValues
    from stirfall.script_package import ExportReport
    from stirfall.script_pool import BenchReport
    from stirfall.scripting import RecipeSheet
    from stirfall.session.analysis import Analysis
    from stirfall.session.comparing_records import Compared
    from stirfall.session.document import Document
    from stirfall.session.drift_records import Drift
    from stirfall.session.rivals_found import Rival
    from stirfall.session.surprises_found import Surprises, Why


@dataclass(frozen=True)
class DriftReport:
    """Whether something has changed: ``text`` says it in finished sentences, the verdict first.

    ``found`` has all of it: ``points``, ``chart``, ``cusum``, ``ewma``, ``change``, ``signals`` and ``marks``.
    """

    found: Drift
    text: tuple[str, ...]

    @property
    def probability(self) -> float | None:
        """The probability that something has changed."""
        return None if self.found.change is None else self.found.change.probability

    @property
    def since(self) -> int | None:
        """The number of the first attempt after the likeliest moment of a change."""
        change = self.found.change
        return None if change is None else self.found.points[change.at].number


@dataclass(frozen=True)
class CompareReport:
    """Whether two groups differ by more than chance: ``text`` says it in finished sentences, the headline first.

    ``found`` has all of it: ``first``, ``second``, ``verdict``, ``shares`` or ``means``, ``blocked``, ``adjusted``,
    ``cannot_tell``, ``many`` and ``warnings``.
    """

    found: Compared
    text: tuple[str, ...]

    @property
    def verdict(self) -> str:
        """What may be said: "nothing" (an empty group), "apart" (not told apart), "probably", "beyond" (chance)."""
        return self.found.verdict

    @property
    def headline(self) -> str:
        """The one sentence."""
        return self.text[0]


@dataclass(frozen=True)
class WhyReport:
    """Why one attempt came out as it did: ``answer`` has all of it, ``text`` says it in finished sentences."""

    answer: Why
    text: tuple[str, ...]


class EvidenceVerbs:
    """What a campaign answers about chance and change, and how its records leave the program."""

    @property
    def document(self) -> Document:
        """The open document below."""
        raise NotImplementedError

    @property
    def analysis(self) -> Analysis:
        """What the attempts say now."""
        raise NotImplementedError

    # ------------------------------------------------------------------------------------------------------ compare

    @explained
    def compare(
        self,
        first: str | Group,
        second: str | Group,
        measure: str = "clean",
        *,
        matters: float | None = None,
        keep: bool = True,
        seed: int = 0,
    ) -> CompareReport:
        """Return whether two groups of attempts differ by more than chance.

        A group is a text, as ``stirfall compare`` takes it ("lot=L1", "sample age=1..12"), or a ``Group``.
        ``measure`` is clean, parted, pooled, recovery, "parting time" or "run time"; ``matters`` the difference
        that matters, a share of 1 or in the number's unit. What was asked is noted in the file, where it may be
        written, unless ``keep`` is False. Raises InputError ``compare.*``.
        """
        from stirfall.bench.comparisons import Comparison, Measure
        from stirfall.bench.errors import InputError
        from stirfall.reporting.compare_words import all_lines
        from stirfall.session.commands import NoteComparison
        from stirfall.session.comparing import compare
        from stirfall.session.comparing_text import read_group
        from stirfall.session.planned_findings import checked_comparison

        document = self.document
        known = tuple(each.value for each in Measure)
        if measure not in known:
            raise InputError("compare.measure_unknown", measure=measure, known=", ".join(known))
        groups = [read_group(document.state, each) if isinstance(each, str) else each for each in (first, second)]
        asked = Comparison("", document.now(), groups[0], groups[1], Measure(measure))
        comparison = checked_comparison(asked, document.state)
        asked_before = document.state.comparisons
        found = compare(self.analysis, comparison, seed=seed, matters=matters, comparisons=asked_before)
        if keep and not document.read_only:
            document.execute(NoteComparison(comparison))
        return CompareReport(found, all_lines(found))

    # -------------------------------------------------------------------------------------------------------- drift

    @explained
    def drift(self, measure: str = "clean") -> DriftReport:
        """Return whether something has changed over the attempts, and when.

        ``measure`` is clean, parted, pooled, recovery, "parting time", "run time" or residual (what the conditions
        did not foretell). Raises InputError ``drift.measure_unknown``.
        """
        from stirfall.bench.errors import InputError
        from stirfall.reporting.drift_words import drift_lines
        from stirfall.session.drift import DriftMeasure, drift

        known = tuple(each.value for each in DriftMeasure)
        if measure not in known:
            raise InputError("drift.measure_unknown", measure=measure, known=", ".join(known))
        found = drift(self.analysis, measure)
        return DriftReport(found, drift_lines(found))

    @explained
    def mark_change(self, words: str, *, kind: str = "other", at: datetime | str | None = None) -> str:
        """Mark that something at the bench is different since ``at``, or since now, and return the id of the mark.

        ``kind`` is oil, tool, lot, operator or other. Raises InputError ``mark.no_text``, ``drift.kind_unknown``.
        """
        from stirfall.bench.errors import InputError
        from stirfall.bench.issued import ChangeMark, MarkKind
        from stirfall.session.commands import MarkChange

        known = tuple(each.value for each in MarkKind)
        if kind not in known:
            raise InputError("drift.kind_unknown", kind=kind, known=", ".join(known))
        before = {mark.id for mark in self.document.state.marks}
        at_moment = moment(at) or self.document.now()
        self.document.execute(MarkChange(ChangeMark("", at_moment, MarkKind(kind), words)))
        return next(mark.id for mark in self.document.state.marks if mark.id not in before)

    @explained
    def drop_mark(self, mark_id: str) -> None:
        """Take a mark of a change away. Raises InputError ``mark.unknown``."""
        from stirfall.session.commands import DropMark

        self.document.execute(DropMark(mark_id))

    # ------------------------------------------------------------------------------------------------ other benches

    @explained
    def benches(self) -> BenchReport:
        """Return whether what was found holds for each bench of a pooled session, and for one not seen yet."""
        from stirfall.reporting.bench_words import bench_lines
        from stirfall.script_pool import BenchReport
        from stirfall.session.benches import holds_elsewhere

        found = holds_elsewhere(self.analysis)
        return BenchReport(found, tuple(bench_lines(found)))

    # --------------------------------------------------------------------------------------------- why and rivals

    @explained
    def surprises(self) -> Surprises:
        """Return the attempts against what all the others foretold of them, the most surprising first."""
        from stirfall.session.surprises import surprises

        return surprises(self.analysis)

    @explained
    def why(self, number: int) -> WhyReport:
        """Return why the attempt with this number came out as it did. Raises InputError ``why.unknown_number``."""
        from stirfall.bench.errors import InputError
        from stirfall.reporting.why_words import why_lines
        from stirfall.session.surprises import why

        analysis = self.analysis
        named = next((each.id for each in analysis.state.attempts if each.number == number), None)
        if named is None:
            raise InputError("why.unknown_number", number=number)
        answer = why(analysis, named)
        return WhyReport(answer, tuple(why_lines(answer, analysis.state, may_wait=analysis.limits.may_wait)))

    @explained
    def rivals(self, at: datetime | str | None = None) -> tuple[Rival, ...]:
        """Return the rival explanations, what most speaks for first; with the jars as they are ``at``, or now."""
        from stirfall.session.rivals import rivals

        return rivals(self.analysis, now=moment(at) or self.document.now())

    # ------------------------------------------------------------------------------------------------------ recipes

    @explained
    def issue(
        self, conditions: Given | None = None, *, note: str = "", **batch: Unpack[BatchValues]
    ) -> RecipeSheet:
        """Keep the recipe for ``conditions``, or for the best condition now, as issued, and return it.

        It stays as it is, with its evidence, whatever is recorded later. Raises InputError ``recipe.blocked``.
        """
        from stirfall.reporting.recipe_issue import issued_of
        from stirfall.session.commands import IssueRecipe

        made = self.recipe(conditions, **batch)
        self.document.execute(IssueRecipe(issued_of(made.recipe, note=note)))
        return self.issued_recipe(max(each.number for each in self.document.state.recipes))

    def issued(self) -> tuple[IssuedRow, ...]:
        """Return the recipes that were issued: number, time, chance with interval, attempts, batch, proof, note."""
        from stirfall.reporting.recipe_issue import issued_rows

        return issued_rows(self.document.state.recipes)

    @explained
    def issued_recipe(self, number: int) -> RecipeSheet:
        """Return an issued recipe exactly as it was issued. Raises InputError ``recipe.no_number``."""
        from stirfall.reporting.recipe_issue import issued_recipe, shown_again
        from stirfall.scripting import RecipeSheet

        return RecipeSheet(shown_again(issued_recipe(self.document.state.recipes, number)))

    @explained
    def compare_recipes(self, first: int, second: int | None = None) -> ComparedRecipes:
        """Return how two issued recipes differ, or an issued one and the best now: ``sentences`` and ``rows``."""
        from stirfall.reporting.recipe_compare import compare_recipes

        other = self.recipe() if second is None else self.issued_recipe(second)
        return compare_recipes(self.issued_recipe(first).recipe, other.recipe)

    def recipe(self, conditions: Given | None = None, **batch: Unpack[BatchValues]) -> RecipeSheet:
        """Return the recipe as it would be issued."""
        raise NotImplementedError

    # ------------------------------------------------------------------------------------------------------- export

    @explained
    def export(
        self, out: str | Path, *, photos: str | Collection[int] = "all", originals: bool = False
    ) -> ExportReport:
        """Write everything as a Data Package: a zip file where ``out`` ends in .zip, else a folder.

        ``photos`` is "all", "none", or numbers of attempts. Raises FileTroubleError or InputError ``package.*``.
        """
        from pathlib import Path

        from stirfall.reporting.package_words import written_lines
        from stirfall.script_package import ExportReport
        from stirfall.session.packages import chosen_photos, export_package

        words = photos if isinstance(photos, str) else ",".join(map(str, photos)) or "none"
        chosen = chosen_photos(self.document, words)
        written = export_package(self.document, out, photos=chosen, originals=originals)
        return ExportReport(Path(out), written, written_lines(written, Path(out)))

    # ------------------------------------------------------------------------------------------------------- import

    @explained
    def import_table(
        self,
        table: str | Path,
        columns: Mapping[str, str] | None = None,
        words: Mapping[str, str] | None = None,
        *,
        dry_run: bool = False,
        leave_out_refused: bool = False,
        **given: Unpack[ImportValues],
    ) -> ImportReport:
        """Bring the attempts of a CSV, TSV or XLSX table into the session, in one step.

        ``columns`` says what columns are where the guess is wrong ({"T": "temperature [F]"}), ``words`` what words
        of the outcome mean ({"meh": "partly parted"}). Raises InputError ``import.*`` where something is unclear or
        a cell is refused; ``leave_out_refused`` leaves such rows out, and ``dry_run`` only tells.
        """
        from stirfall.script_import import import_into

        return import_into(
            self.document,
            table,
            columns or {},
            words or {},
            dry_run=dry_run,
            leave_out_refused=leave_out_refused,
            given=given,
        )
