"""A session as scripts see it: a few verbs over the open document and its analysis."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Unpack

from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Estimate
from stirfall.bench.factors import Conditions, Factor, Role, standard_factors
from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings, Jar, Lot, Masses, computed_ages
from stirfall.bench.run_facts import RunFacts, WeighingSheet
from stirfall.bench.typed import read_conditions
from stirfall.reporting.sentences import sentence
from stirfall.script_evidence import EvidenceVerbs
from stirfall.script_plans import PlanVerbs, Suggestion
from stirfall.script_plans import explained as _explained
from stirfall.script_pool import pool
from stirfall.session.commands import AddLot, Changes, CorrectAttempt, RecordAttempt, StrikeAttempt
from stirfall.session.document import Document
from stirfall.session.script_words import (
    AttemptChanges,
    BatchValues,
    FactValues,
    Given,
    OtherSettings,
    SheetValues,
    changed_fields,
    grade,
    moment,
    weighed,
    weighing_sheet,
    whole_count,
)
from stirfall.session.validation import refuse_blocked, refuse_planned

if TYPE_CHECKING:
    import pandas as pd

    from stirfall.reporting.limit_words import FindingText, LimitText
    from stirfall.reporting.recipe import Recipe
    from stirfall.reporting.report.source import ReportSource
    from stirfall.reporting.report.tree import Report
    from stirfall.session.analysis import Analysis
    from stirfall.session.film import Film


__all__ = ["Campaign", "RecipeSheet", "ReportSheet", "Suggestion", "pool"]


@dataclass(frozen=True)
class RecipeSheet:
    """A recipe that can be read as Markdown or JSON, or saved in the form that a file's suffix names.

    ``sheet`` is "reader", or "bench" for the sheet with boxes to tick, timers and fields.
    """

    recipe: Recipe

    def markdown(self, sheet: str = "reader") -> str:
        """Return the recipe as Markdown."""
        from stirfall.reporting.markdown import render_markdown
        from stirfall.reporting.recipe_sheet import make_bench_sheet
        from stirfall.reporting.recipe_sheet_markdown import sheet_markdown

        return sheet_markdown(make_bench_sheet(self.recipe)) if sheet == "bench" else render_markdown(self.recipe)

    def json(self) -> dict[str, object]:
        """Return the recipe as a JSON document (schema ``resources/schemas/recipe.schema.json``)."""
        from stirfall.reporting.json_form import recipe_json

        return recipe_json(self.recipe)

    @_explained
    def save(self, path: str | Path, *, sheet: str = "reader", paper: str = "A4") -> Path:
        """Write the recipe as ``.md``, ``.json`` or ``.pdf`` and return the path; raises ``recipe.suffix``."""
        from stirfall.cli.recipe_files import save_recipe

        return save_recipe(self.recipe, Path(path), sheet=sheet, paper=paper)


@dataclass(frozen=True)
class ReportSheet:
    """A lab report that can be read as HTML or Markdown, or saved in the form that a file's suffix names.

    ``report`` is the document tree; ``source`` what it was made from.
    """

    report: Report
    source: ReportSource
    document: Document = field(repr=False)

    def html(self) -> str:
        """Return the report as one HTML page that needs nothing else."""
        from stirfall.reporting.report.html import report_html

        return report_html(self.report)

    def markdown(self) -> str:
        """Return the report as Markdown; ``save`` also writes the pictures that it shows."""
        from stirfall.reporting.report.markdown import report_markdown

        return report_markdown(self.report)

    @_explained
    def save(self, path: str | Path, *, paper: str = "a4") -> Path:
        """Write the report as ``.pdf`` (on "a4" or "letter"), ``.html`` or ``.md``, or the bundle as ``.zip``.

        Raises InputError ``report.*``, and FileTroubleError ``report.not_written``.
        """
        from stirfall.cli.report_files import save_report

        return save_report(self.report, self.source, self.document, Path(path), paper).path


class Campaign(PlanVerbs, EvidenceVerbs):
    """One session file, open for a script. Use it as a context manager, or close it."""

    def __init__(self, document: Document) -> None:
        self._document = document
        self._analysis: Analysis | None = None
        self._forget = document.subscribe(lambda changes, _origin: self._set_stale(changes))

    @classmethod
    @_explained
    def new(
        cls,
        path: str | Path,
        *,
        factors: Iterable[Factor] | None = None,
        material: str | MaterialClass = MaterialClass.OTHER,
        melting_point_c: float | None = None,
        oil_flash_c: float | None = None,
        **others: Unpack[OtherSettings],
    ) -> Campaign:
        """Make a session file (the standard factors where none are given); raises for a file that exists."""
        settings = CampaignSettings(
            material=MaterialClass.parse(str(material)),
            melting_point_c=melting_point_c,
            oil_flash_c=oil_flash_c,
            **others,
        )
        chosen = standard_factors() if factors is None else tuple(factors)
        return cls(Document.create(Path(path), settings, chosen))

    @classmethod
    @_explained
    def open(cls, path: str | Path, *, read_only: bool = False) -> Campaign:
        """Open a session file; raises FileTroubleError when it cannot be used."""
        return cls(Document.open(Path(path), read_only=read_only))

    def __enter__(self) -> Campaign:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close the session; everything was saved when it was done."""
        self._forget()
        self._document.close()

    @property
    def document(self) -> Document:
        """The open document below, for whatever this class does not offer."""
        return self._document

    @property
    def attempts(self) -> tuple[Attempt, ...]:
        """All attempts, struck-out ones too, in the order of the file."""
        return self._document.state.attempts

    @property
    def factors(self) -> tuple[Factor, ...]:
        """All factors of the campaign."""
        return self._document.state.factors

    @property
    def analysis(self) -> Analysis:
        """What the attempts say now; made once and kept until the next write."""
        if self._analysis is None:
            from stirfall.session.analysis import analyse

            self._analysis = analyse(self._document.state, refined=True)
        return self._analysis

    @property
    def blocked_reason(self) -> str | None:
        """Why nothing may be suggested, in plain English, or None."""
        if not self.analysis.limits.blocked:
            return None
        blocking = [finding for finding in self.analysis.limits.findings if finding.level == "block"]
        return " ".join(sentence(finding.code, finding.params) for finding in blocking)

    @_explained
    def record(
        self,
        conditions: Given,
        *,
        parted: str | Parted | None = None,
        pooled: str | Pooled | None = None,
        clean: bool | int | None = None,
        trials: int = 1,
        lot: str | None = None,
        jar: str | None = None,
        at: datetime | str | None = None,
        note: str = "",
        masses: Mapping[str, float] | Masses | None = None,
        sheet: SheetValues | WeighingSheet | None = None,
        aborted: bool | str = False,
        proof: bool = False,
        **seen: Unpack[FactValues],
    ) -> Attempt:
        """Record one attempt and return it.

        Either ``parted`` and ``pooled`` grade the two gates, or ``clean`` says whether it was clean (with
        ``trials``: how many were). ``aborted`` may be the reason; ``proof`` marks it for the proof that runs. A lot
        that is not known yet is registered. With ``jar`` and ``at`` ages that ``conditions`` leaves out are
        computed, and a film index where the jar tells it. What was seen goes by name: ``look``,
        ``room_rh_percent``, ``oil_ml``, ``peak_c``, ``lifted_at_c``, ``operator``, ``tool``. Raises InputError;
        ``limits.refused`` beyond a limit that blocks, unless it was aborted.
        """
        state = self._document.state
        held = self._started_jar(jar)
        lot_id = lot if lot is not None else (held.lot_id if held else None)
        started_at = moment(at)
        values = read_conditions(state.factors, conditions)
        if started_at is not None:
            ages = computed_ages(state.factors, lot=state.lot(lot_id), jar=held, started_at=started_at)
            values = Conditions({**ages, **values})
            if held is not None and any(factor.role is Role.FILM_INDEX for factor in state.visible_factors):
                from stirfall.session.film import film_values

                values = Conditions({**film_values(state, held, started_at, values), **values})
        attempt = Attempt(
            id="",
            number=0,
            conditions=values,
            started_at=started_at,
            lot_id=lot_id,
            jar_id=jar,
            parted=grade(parted, Parted),
            pooled=grade(pooled, Pooled),
            successes=None if clean is None else whole_count(clean, "clean"),
            trials=whole_count(trials, "trials"),
            aborted=bool(aborted),
            abort_reason=aborted if isinstance(aborted, str) else "",
            masses=weighed(masses),
            sheet=weighing_sheet(sheet),
            note=note,
            facts=RunFacts(**seen),
            proof_id=self.running_proof_id() if proof else None,
        )
        # Before the lot is registered: an attempt that is refused leaves nothing behind.
        refuse_blocked(attempt, state)
        if lot_id is not None and state.lot(lot_id) is None:
            self._document.execute(AddLot(Lot(lot_id)))
        changes = self._document.execute(RecordAttempt(attempt))
        return self._document.state.attempt(changes.new_attempt_id or "")

    @_explained
    def strike(self, number: int, reason: str) -> None:
        """Strike out an attempt by its number; it no longer counts, its record and the reason stay."""
        self._document.execute(StrikeAttempt(self._numbered(number).id, reason))

    @_explained
    def correct(self, number: int, reason: str, **changes: Unpack[AttemptChanges]) -> Attempt:
        """Change an attempt by its number and return it; old values, time and reason stay in the file."""
        attempt = self._numbered(number)
        fields = changed_fields(self._document.state.factors, attempt, changes)
        self._document.execute(CorrectAttempt(attempt.id, fields, reason))
        return self._document.state.attempt(attempt.id)

    @_explained
    def probability(self, conditions: Given, *, lot: str | None = None) -> Estimate:
        """Return the probability of a clean separation at ``conditions``, with its interval and n.

        It is for ``lot`` (or jar, or whatever attempts share), None: for a new one, or for the level that the
        conditions name where attempts share a factor. A lot without attempts is a new one.
        """
        given = read_conditions(self._document.state.factors, conditions)
        answering = self.analysis.for_level_in(given) if lot is None else self.analysis.for_lot(lot)
        return answering.estimate(given)

    def limits(self) -> tuple[LimitText, ...]:
        """Return every limit that holds for this campaign, with ``rule``, ``levels``, ``text`` and ``source``."""
        from stirfall.reporting.limit_words import limit_texts

        return limit_texts(self._document.state)

    @_explained
    def judge(
        self,
        conditions: Given,
        *,
        jar: str | None = None,
        at: datetime | str | None = None,
        masses: Mapping[str, float] | Masses | None = None,
        **seen: Unpack[FactValues],
    ) -> tuple[FindingText, ...]:
        """Return what the limits say about conditions and what was seen, most severe first; nothing is written.

        Each has ``level`` ("block": never, "warn": needs a reason, "note"), ``code``, ``text`` and ``source``.
        """
        from stirfall.planning.limits import operating_limits
        from stirfall.planning.situation import Situation
        from stirfall.reporting.limit_words import finding_texts

        state, held = self._document.state, self._started_jar(jar)
        lot = state.lot(held.lot_id) if held is not None else None
        values = read_conditions(state.factors, conditions)
        situation = Situation(values, held, lot, RunFacts(**seen), weighed(masses), moment(at))
        return finding_texts(operating_limits(state).judge(situation))

    @_explained
    def film(self, jar: str, at: datetime | str | None = None) -> Film | None:
        """Return what reached the metal of a jar by ``at``, or by now; None where the jar does not tell enough.

        ``index`` is in mmol of oxygen atoms per m² of metal, right to a factor of three either way (``low`` to
        ``high``): a number to rank jars with. Raises InputError ``script.jar_unknown``.
        """
        from stirfall.session.film import film_of_jar

        held = self._jar(jar)
        assert held is not None
        return film_of_jar(self._document.state, held, moment(at) or self._document.now())

    @_explained
    def recipe(self, conditions: Given | None = None, **batch: Unpack[BatchValues]) -> RecipeSheet:
        """Return the recipe for ``conditions``, or for the best condition now; ``charge_g=30`` for another size.

        The fields of a batch are those of ``stirfall.reporting.recipe_batch.BatchOrder``.
        """
        from stirfall.reporting.recipe import make_recipe
        from stirfall.reporting.recipe_batch import BatchOrder

        chosen = (
            self.analysis.best().conditions
            if conditions is None
            else read_conditions(self._document.state.factors, conditions)
        )
        document = self._document
        return RecipeSheet(
            make_recipe(
                self.analysis,
                chosen,
                fingerprint=document.fingerprint,
                session_name=document.path.name,
                created_at=document.now(),
                corrections=document.corrections(),
                batch=BatchOrder(**batch),
            )
        )

    @_explained
    def report(
        self, *, photos: str | Iterable[int] = "none", with_names: bool = False, at: datetime | str | None = None
    ) -> ReportSheet:
        """Return the lab report: everything that was done and found; the operators stand as letters.

        ``photos`` is "all", "none" or the numbers of attempts; ``at`` the moment that stands in it, None: now.
        Raises InputError ``report.photo_unknown`` and ``report.photos_unreadable``.
        """
        from stirfall.reporting.report.lab_report import lab_report
        from stirfall.reporting.report.source import photo_numbers, source_of

        chosen = photo_numbers(photos) if isinstance(photos, str) else tuple(photos)
        source = source_of(self._document, photos=chosen, with_names=with_names, created_at=moment(at))
        return ReportSheet(lab_report(source, self.analysis), source, self._document)

    def frame(self) -> pd.DataFrame:
        """Return all attempts as a table: one row each, one column per factor, numbers in the factor's unit."""
        import pandas as pd

        names = [factor.name for factor in self.factors]
        rows = [_row(attempt, names) for attempt in self.attempts]
        return pd.DataFrame(rows, columns=list(_row(_NO_ATTEMPT, names)))

    def _started_jar(self, jar_id: str | None) -> Jar | None:
        """Return the jar; raises InputError ``script.jar_unknown``, or ``jar.not_started`` for a planned one."""
        held = self._jar(jar_id)
        if held is not None:
            refuse_planned(held)
        return held

    def _jar(self, jar_id: str | None) -> Jar | None:
        """Return the jar; raises InputError ``script.jar_unknown`` for a name that no jar has."""
        jars = self._document.state.jars
        held = self._document.state.jar(jar_id)
        if jar_id is not None and held is None:
            raise InputError("script.jar_unknown", jar=jar_id, known=", ".join(known.id for known in jars))
        return held

    def _numbered(self, number: int) -> Attempt:
        for attempt in self.attempts:
            if attempt.number == number:
                return attempt
        raise InputError("attempt.unknown", id=number)

    def _set_stale(self, changes: Changes) -> None:
        if not changes.comparisons:  # a question that was noted changes nothing that is fitted
            self._analysis = None


_NO_ATTEMPT = Attempt(id="", number=0, conditions=Conditions())


def _row(attempt: Attempt, factor_names: Iterable[str]) -> dict[str, object]:
    """Return one attempt as a flat row, the factors in the middle."""
    return {
        "number": attempt.number,
        "started_at": attempt.started_at,
        "lot": attempt.lot_id,
        "jar": attempt.jar_id,
        **{name: attempt.conditions.get(name) for name in factor_names},
        "outcome": attempt.outcome.value,
        "parted": attempt.parted.value if attempt.parted else None,
        "pooled": attempt.pooled.value if attempt.pooled else None,
        "clean": attempt.successes,
        "trials": attempt.trials,
        "aborted": attempt.aborted,
        "abort_reason": attempt.abort_reason,
        **vars(attempt.masses),
        "note": attempt.note,
        "struck_reason": attempt.struck_reason,
        "operator": attempt.facts.operator or None,
        "tool": attempt.facts.tool or None,
    }
