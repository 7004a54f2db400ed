"""Planning verbs of a session as scripts see it: next attempts, tonight, proofs, rehearsals."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from functools import wraps
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, ParamSpec, TypeVar

from stirfall.bench.errors import InputError, StirfallError
from stirfall.bench.estimates import Estimate
from stirfall.bench.factors import Value
from stirfall.bench.proofs import ProofRule
from stirfall.bench.records import find_factor
from stirfall.bench.typed import read_conditions
from stirfall.reporting.sentences import error_sentence, sentence
from stirfall.session.script_words import Given, moment

if TYPE_CHECKING:
    from stirfall.planning.goals import GoalFigure
    from stirfall.planning.rehearsal import Guess, Rehearsed
    from stirfall.planning.suggestions import Suggestion as Planned
    from stirfall.session.analysis import Analysis
    from stirfall.session.document import Document
    from stirfall.session.proof_outlook import ProofChoices
    from stirfall.session.proving import ProofStanding
    from stirfall.session.time_curve import TimeCurve
    from stirfall.session.tonight import Tonight

_Arguments = ParamSpec("_Arguments")
_Answer = TypeVar("_Answer")


def explained(verb: Callable[_Arguments, _Answer]) -> Callable[_Arguments, _Answer]:
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


@dataclass(frozen=True)
class Suggestion:
    """A next attempt: a value for each factor in its unit, its probability, and why, in one sentence.

    ``held`` is the probability as well as conditions are held, ``figure`` what the goal promises (``value``,
    ``lower``, ``upper``, ``unit`` "h" or "g/week"), None where it promises nothing more. ``explanation`` are
    finished sentences: what it would settle, what each outcome does to the plan, and the nearest tried attempt.
    """

    conditions: Mapping[str, Value]
    probability: Estimate
    why: str
    outside_tried: tuple[str, ...]
    jar: str | None
    wait_h: float | None
    lot: str | None = None
    held: Estimate | None = None
    figure: GoalFigure | None = None
    explanation: tuple[str, ...] = ()


@dataclass(frozen=True)
class ProofReport:
    """How a proof stands: ``verdict`` ("open", "shown", "not shown", "given up"), and all of it in ``text``."""

    standing: ProofStanding
    text: tuple[str, ...]

    @property
    def verdict(self) -> str:
        """The verdict in a word."""
        return self.standing.verdict.value


class PlanVerbs:
    """What ``Campaign`` offers for planning; it brings the open document and what its attempts say."""

    @property
    def document(self) -> Document:
        """The open document below."""
        raise NotImplementedError

    @property
    def analysis(self) -> Analysis:
        """What the attempts say now."""
        raise NotImplementedError

    # ------------------------------------------------------------------------------------------------------ tonight

    @explained
    def tonight(
        self,
        *,
        hours: float | None = None,
        goal: str = "learn",
        seed: int | None = None,
        begins: datetime | str | None = None,
        at: datetime | str | None = None,
        keep: bool = False,
    ) -> Tonight:
        """Return the plan of the evening: ``openings``, ``decisions`` (open now or wait) and ``starts``.

        ``hours`` are free today, else the plan is for the next bench day of the campaign. Every part has a
        ``reason``, which ``stirfall.reporting.evening_words.said`` puts into words. ``keep`` keeps the plan in the
        session. Raises InputError ``tonight.*``.
        """
        from stirfall.reporting.evening_words import said
        from stirfall.session.commands import KeepEvening
        from stirfall.session.tonight import evening_plan, plan_tonight

        document = self.document
        found = plan_tonight(
            self.analysis,
            document.state,
            moment(at) or document.now(),
            hours_free=hours,
            goal=goal,
            seed=seed,
            begins_at=moment(begins),
        )
        if keep:
            document.execute(KeepEvening(evening_plan(found, said)))
        return found

    @explained
    def start_jars(self, tonight: Tonight) -> tuple[str, ...]:
        """Put the jars to start of an evening's plan on the shelf and return their ids.

        Those to be started now begin to age now; the others are planned. Raises InputError.
        """
        from stirfall.session.tonight import start_commands

        for command in start_commands(tonight.starts):
            self.document.execute(command)
        return tuple(each.jar.id for each in tonight.starts)

    # ------------------------------------------------------------------------------------------------ next attempts

    @explained
    def suggest(self, count: int = 3, goal: str = "reliable", *, lots: Sequence[str] = ()) -> list[Suggestion]:
        """Return the next attempts worth making, best first; empty when ``blocked_reason`` says why.

        ``goal`` is "learn", "reliable", "soonest" or "most". With ``lots`` each attempt is for one of them.
        """
        now = self.document.now()
        return [as_suggestion(each) for each in self.analysis.suggest(count=count, goal=goal, now=now, lots=lots)]

    @explained
    def best(self, goal: str = "reliable") -> Suggestion:
        """Return the condition to recommend now for a goal; raises InputError when the limits allow none."""
        return as_suggestion(self.analysis.best(goal, self.document.now()))

    @explained
    def held(self, conditions: Given, *, lot: str | None = None) -> Estimate:
        """Return the probability where conditions are held as well as the plan's settings say."""
        return self.analysis.for_lot(lot).held(read_conditions(self.document.state.factors, conditions))

    @explained
    def time_curve(
        self, factor: str, conditions: Given | None = None, *, jars: int | None = None, lot: str | None = None
    ) -> TimeCurve:
        """Return the expected hours to the first clean batch along an age, the rest as in ``conditions`` or best.

        ``jars`` are opened at one age, else as many as the plan's settings say. Raises InputError ``time_curve.*``,
        always for a metal that must not be left to age.
        """
        analysis = self.analysis.for_lot(lot)
        state = self.document.state
        plan = state.settings.plan if jars is None else replace(state.settings.plan, jars_at_once=jars)
        rest = analysis.best().conditions if conditions is None else read_conditions(state.factors, conditions)
        return analysis.time_curve(factor, rest, plan)

    # ------------------------------------------------------------------------------------------------------- proofs

    @explained
    def proof_plan(
        self,
        conditions: Given | None = None,
        *,
        claim: float = 0.90,
        confidence: float = 0.95,
        failures: Sequence[int] = (0, 1, 2),
        good: float | None = None,
        risk: float = 0.10,
        attempts: int | None = None,
        lots: Sequence[str | None] = (None,),
        exact: bool = False,
    ) -> ProofChoices:
        """Return what a proof at ``conditions``, or at the best condition now, would take, and its chances.

        One plan by count for each number of ``failures`` allowed, and one in sequence, as ``outlooks``: each has
        its ``plan``, the ``chance`` that it succeeds if started now, and the expected ``attempts``. ``lots`` is
        where the attempts come from, None: a new one; ``exact`` takes the conditions as held exactly. Raises
        InputError.
        """
        from stirfall.session.proof_outlook import proof_choices

        recipe = (
            self.analysis.best().conditions
            if conditions is None
            else read_conditions(self.document.state.factors, conditions)
        )
        return proof_choices(
            self.analysis,
            recipe,
            claim=claim,
            confidence=confidence,
            failures=failures,
            good=good,
            risk=risk,
            attempts=attempts,
            lots=lots,
            held=not exact,
        )

    @explained
    def start_proof(
        self,
        conditions: Given | None = None,
        *,
        rule: str = "count",
        claim: float = 0.90,
        confidence: float = 0.95,
        failures: int = 0,
        good: float | None = None,
        risk: float = 0.10,
        attempts: int | None = None,
        tolerances: Mapping[str, float] | None = None,
        title: str = "",
    ) -> ProofReport:
        """Start a proof by "count" or in "sequential" rule; from now on its rule is fixed. Raises InputError.

        ``tolerances`` say how far a factor may lie from the recipe, in its unit, in place of what is usual.
        """
        from stirfall.planning.proof import proof_of
        from stirfall.session.commands import StartProof
        from stirfall.session.proof_outlook import make_plan, whole_recipe, widths

        given = None if conditions is None else read_conditions(self.document.state.factors, conditions)
        if rule not in tuple(ProofRule):
            raise InputError("proof.rule_unknown", value=rule, known=", ".join(ProofRule))
        plan = make_plan(
            ProofRule(rule), claim, confidence, failures=failures, good=good, risk=risk, attempts=attempts
        )
        recipe, _ = whole_recipe(self.analysis, self.analysis.best().conditions if given is None else given)
        named = {
            find_factor(self.document.state.factors, name).name: width for name, width in (tolerances or {}).items()
        }
        held = {**widths(self.analysis, recipe), **named}
        self.document.execute(StartProof(proof_of(plan, recipe, held, title=title)))
        return self.proofs()[-1]

    @explained
    def end_proof(self, reason: str) -> ProofReport:
        """Give the proof that runs up; its attempts stay marked. Raises InputError ``proof.*``."""
        from stirfall.session.commands import EndProof

        self.document.execute(EndProof(self.running_proof_id(), reason))
        return self.proofs()[-1]

    def proof(self) -> ProofReport | None:
        """Return how the newest proof stands, None where there is none."""
        return next(reversed(self.proofs()), None)

    def proofs(self) -> tuple[ProofReport, ...]:
        """Return how all proofs stand, in the order in which they were started."""
        from stirfall.reporting.proof_words import standing_lines
        from stirfall.session.proving import all_standings

        found = all_standings(self.document.state, self.document.corrections())
        return tuple(ProofReport(each, standing_lines(each)) for each in found)

    def running_proof_id(self) -> str:
        """Return the id of the proof that runs; raises InputError ``proof.none_runs``."""
        running = self.document.state.open_proof
        if running is None:
            raise InputError("proof.none_runs")
        return running.id

    # ---------------------------------------------------------------------------------------------------- rehearsal

    @explained
    def rehearse(
        self,
        *,
        campaigns: int = 50,
        orders: Sequence[str] | None = None,
        target: float | None = None,
        most: int = 30,
        guess: Guess | None = None,
        lot: str | None = None,
        seed: int = 0,
        jobs: int = -1,
        cluster: str | None = None,
        record: str | Path | None = None,
        progress: Callable[[int, int], None] | None = None,
    ) -> Rehearsed:
        """Play whole campaigns ahead and return how many attempts and weeks to expect under each of ``orders``.

        ``target`` is the probability wanted of the recipe, else the plan's; ``most`` the most further attempts.
        ``guess`` is played in place of what the attempts say. ``jobs`` processes share the work, -1: one for each
        core; ``cluster`` is the address of a Dask scheduler whose workers do it instead. ``record`` is a file that
        keeps each campaign, to go on later. Raises InputError and FileTroubleError.
        """
        from stirfall.planning.rehearsal import ORDERS
        from stirfall.session.rehearsing import rehearse_session

        return rehearse_session(
            self.analysis.for_lot(lot),
            now=self.document.now(),
            orders=ORDERS if orders is None else orders,
            campaigns=campaigns,
            target=target,
            most=most,
            guess=guess,
            seed=seed,
            jobs=jobs,
            cluster=cluster,
            record=None if record is None else Path(record),
            progress=progress,
        )


def as_suggestion(planned: Planned) -> Suggestion:
    """Return a planned attempt as scripts see it."""
    from stirfall.reporting.explanations import explanation_lines

    told = planned.explanation
    return Suggestion(
        conditions=MappingProxyType(dict(planned.conditions)),
        probability=planned.probability,
        why=sentence(planned.reason.code, planned.reason.params),
        outside_tried=planned.outside_tried,
        jar=planned.jar_id,
        wait_h=planned.wait_h,
        lot=planned.lot_id,
        held=planned.held,
        figure=planned.figure,
        explanation=() if told is None else tuple(explanation_lines(told)),
    )
