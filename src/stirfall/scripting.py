"""A session as scripts see it: a few verbs over the open document and its analysis."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from functools import wraps
from pathlib import Path
from types import MappingProxyType, TracebackType
from typing import TYPE_CHECKING, ParamSpec, SupportsFloat, TypedDict, TypeVar, Unpack

from stirfall.bench.ages import as_utc, read_stamp
from stirfall.bench.errors import InputError, StirfallError
from stirfall.bench.estimates import Estimate
from stirfall.bench.factors import Conditions, Factor, Role, Value, standard_factors
from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings, Jar, Lot, Masses, computed_ages, find_factor
from stirfall.bench.run_facts import WeighingSheet
from stirfall.bench.typed import read_conditions, read_grade
from stirfall.reporting.sentences import error_sentence, sentence
from stirfall.session.commands import AddLot, CorrectAttempt, RecordAttempt, StrikeAttempt
from stirfall.session.document import Document

if TYPE_CHECKING:
    import pandas as pd

    from stirfall.planning.next_attempts import Suggestion as Planned
    from stirfall.reporting.recipe import Recipe
    from stirfall.session.analysis import Analysis
    from stirfall.session.film import Film

Given = Mapping[str, str | SupportsFloat | None]
_Arguments = ParamSpec("_Arguments")
_Answer = TypeVar("_Answer")


def _explained(verb: Callable[_Arguments, _Answer]) -> Callable[_Arguments, _Answer]:
    """Let errors of the core carry their plain sentence as a note, so that a script's user reads what to do."""

    @wraps(verb)
    def explaining(*args: _Arguments.args, **kwargs: _Arguments.kwargs) -> _Answer:
        try:
            return verb(*args, **kwargs)
        except StirfallError as error:
            if not getattr(error, "__notes__", None):
                error.add_note(error_sentence(error))
            raise

    return explaining


class OtherSettings(TypedDict, total=False):
    """Further settings that ``Campaign.new`` takes; they mean what they mean in ``CampaignSettings``."""

    title: str
    metal: str
    oil: str
    gates: int
    level: float
    intercept_prior_sd: float
    effect_prior_sd: float
    humps: tuple[str, ...]
    products: tuple[tuple[str, str], ...]
    partly: str
    lot_effect: str
    lot_sd_prior: float
    form: str


class SheetValues(TypedDict, total=False):
    """How an attempt was weighed, as in ``WeighingSheet``; ``tares`` by the name of the mass, such as product_g."""

    tares: Mapping[str, float]
    step_g: float
    oil_removed: str
    bead_mm: float
    purity_percent: float
    purity_u_percent: float


class AttemptChanges(TypedDict, total=False):
    """What ``Campaign.correct`` can change; ``conditions`` names only the values that change, None removes one."""

    conditions: Given
    parted: str | None
    pooled: str | None
    clean: bool | int | None
    trials: int
    lot: str
    jar: str
    at: datetime | str
    note: str
    masses: Mapping[str, float] | Masses
    sheet: SheetValues | WeighingSheet
    aborted: bool | str


@dataclass(frozen=True)
class Suggestion:
    """A next attempt: a value for each factor in its unit, its probability, and why, in one sentence."""

    conditions: Mapping[str, Value]
    probability: Estimate
    why: str
    outside_tried: tuple[str, ...]
    jar: str | None
    wait_h: float | None


@dataclass(frozen=True)
class RecipeSheet:
    """A recipe that can be read as Markdown or JSON, or saved in the form that a file's suffix names."""

    recipe: Recipe

    def markdown(self) -> str:
        """Return the recipe as Markdown."""
        from stirfall.reporting.markdown import render_markdown

        return render_markdown(self.recipe)

    def json(self) -> dict[str, object]:
        """Return the recipe as a JSON document (schema ``resources/schemas/recipe.schema.json``)."""
        from stirfall.reporting.json_form import recipe_json

        return recipe_json(self.recipe)

    @_explained
    def save(self, path: str | Path) -> Path:
        """Write the recipe as ``.md``, ``.json`` or ``.pdf`` and return the path; raises ``recipe.suffix``."""
        from stirfall.cli.recipe_files import save_recipe

        return save_recipe(self.recipe, Path(path))


class Campaign:
    """One session file, open for a script. Use it as a context manager, or close it."""

    def __init__(self, document: Document) -> None:
        self._document = document
        self._analysis: Analysis | None = None
        self._forget = document.subscribe(lambda _changes, _origin: self._set_stale())

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
    ) -> Attempt:
        """Record one attempt and return it.

        Either ``parted`` and ``pooled`` grade the two gates, or ``clean`` says whether it was clean (with
        ``trials``: how many were). ``aborted`` may be the reason. A lot that is not known yet is registered. With
        ``jar`` and ``at`` ages that ``conditions`` leaves out are computed, and a film index where the jar tells
        it. Raises InputError.
        """
        state = self._document.state
        held = self._jar(jar)
        lot_id = lot if lot is not None else (held.lot_id if held else None)
        started_at = _moment(at)
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
            parted=_grade(parted, Parted),
            pooled=_grade(pooled, Pooled),
            successes=None if clean is None else _whole(clean, "clean"),
            trials=_whole(trials, "trials"),
            aborted=bool(aborted),
            abort_reason=aborted if isinstance(aborted, str) else "",
            masses=_weighed(masses),
            sheet=_sheet(sheet),
            note=note,
        )
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
        fields = _changed_fields(self._document.state.factors, attempt, changes)
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

    @_explained
    def suggest(self, count: int = 3, goal: str = "reliable") -> list[Suggestion]:
        """Return the next attempts worth making, best first; empty when ``blocked_reason`` says why."""
        return [_as_suggestion(planned) for planned in self.analysis.suggest(count=count, goal=goal)]

    @_explained
    def best(self) -> Suggestion:
        """Return the condition to recommend now; raises InputError when the limits allow none."""
        return _as_suggestion(self.analysis.best())

    @_explained
    def film(self, jar: str, at: datetime | str | None = None) -> Film | None:
        """Return what reached the metal of a jar by ``at``, or by now; None where the jar does not tell enough.

        ``index`` is in mmol of oxygen atoms per m² of metal, right to a factor of three either way (``low`` to
        ``high``): a number to rank jars with. Raises InputError ``script.jar_unknown``.
        """
        from stirfall.session.film import film_of_jar

        held = self._jar(jar)
        assert held is not None
        return film_of_jar(self._document.state, held, _moment(at) or self._document.now())

    @_explained
    def recipe(self, conditions: Given | None = None) -> RecipeSheet:
        """Return the recipe for ``conditions``, or for the best condition now."""
        from stirfall.reporting.recipe import make_recipe

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
            )
        )

    def frame(self) -> pd.DataFrame:
        """Return all attempts as a table: one row each, one column per factor, numbers in the factor's unit."""
        import pandas as pd

        names = [factor.name for factor in self.factors]
        rows = [_row(attempt, names) for attempt in self.attempts]
        return pd.DataFrame(rows, columns=list(_row(_NO_ATTEMPT, names)))

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

    def _set_stale(self) -> None:
        self._analysis = None


_NO_ATTEMPT = Attempt(id="", number=0, conditions=Conditions())
_Grade = TypeVar("_Grade", bound=StrEnum)


def _moment(at: datetime | str | None) -> datetime | None:
    if at is None:
        return None
    return read_stamp(at) if isinstance(at, str) else as_utc(at)


def _weighed(masses: Mapping[str, float] | Masses | None) -> Masses:
    if isinstance(masses, Masses):
        return masses
    known = tuple(vars(Masses()))
    for name in masses or {}:
        if name not in known:
            raise InputError("script.mass_unknown", name=name, known=", ".join(known))
    return Masses(**dict(masses or {}))


def _sheet(sheet: SheetValues | WeighingSheet | None) -> WeighingSheet:
    if isinstance(sheet, WeighingSheet):
        return sheet
    given: SheetValues = sheet or {}
    tares = given.get("tares", {})
    for names, known in ((given, vars(WeighingSheet())), (tares, vars(Masses()))):
        for name in names:
            if name not in known:
                raise InputError("script.sheet_unknown", name=name, known=", ".join(known))
    return WeighingSheet(
        tares=tuple(tares.items()),
        step_g=given.get("step_g"),
        oil_removed=given.get("oil_removed", ""),
        bead_mm=given.get("bead_mm"),
        purity_percent=given.get("purity_percent"),
        purity_u_percent=given.get("purity_u_percent"),
    )


def _grade(given: str | None, kind: type[_Grade]) -> _Grade | None:
    return None if given is None else read_grade(given, kind)


def _whole(given: SupportsFloat, name: str) -> int:
    """Return a count of any number type as a plain one; raises InputError ``script.not_a_count``."""
    try:
        number = float(given)
    except (TypeError, ValueError):
        raise InputError("script.not_a_count", name=name, value=given) from None
    if not number.is_integer():
        raise InputError("script.not_a_count", name=name, value=number)
    return int(number)


def _changed_fields(factors: tuple[Factor, ...], attempt: Attempt, changes: AttemptChanges) -> dict[str, object]:
    """Turn the words of ``correct`` into fields of ``Attempt``."""
    fields: dict[str, object] = {}
    if "conditions" in changes:
        given = changes["conditions"]
        named = {find_factor(factors, name).name for name in given}
        kept = {name: value for name, value in attempt.conditions.items() if name not in named}
        fields["conditions"] = Conditions({**kept, **read_conditions(factors, given)})
    if "parted" in changes:
        fields["parted"] = _grade(changes["parted"], Parted)
    if "pooled" in changes:
        fields["pooled"] = _grade(changes["pooled"], Pooled)
    if "clean" in changes:
        fields["successes"] = None if changes["clean"] is None else _whole(changes["clean"], "clean")
    if "trials" in changes:
        fields["trials"] = _whole(changes["trials"], "trials")
    if "masses" in changes:
        fields["masses"] = _weighed(changes["masses"])
    if "sheet" in changes:
        fields["sheet"] = _sheet(changes["sheet"])
    if "at" in changes:
        fields["started_at"] = _moment(changes["at"])
    if "aborted" in changes:
        reason = changes["aborted"]
        fields |= {"aborted": bool(reason), "abort_reason": reason if isinstance(reason, str) else ""}
    plain = {"lot": "lot_id", "jar": "jar_id", "note": "note"}
    fields |= {plain[name]: value for name, value in changes.items() if name in plain}
    return fields


def _as_suggestion(planned: Planned) -> Suggestion:
    return Suggestion(
        conditions=MappingProxyType(dict(planned.conditions)),
        probability=planned.probability,
        why=sentence(planned.reason.code, planned.reason.params),
        outside_tried=planned.outside_tried,
        jar=planned.jar_id,
        wait_h=planned.wait_h,
    )


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
    }
