"""The closing list of a run, which cannot be skipped; pure.

It asks for what is forgotten once the metal is out: the heat, the residue, the masses, tools and wipes. Nothing
here says how to destroy residue: that is for local rules and a licensed waste route.
"""

from __future__ import annotations

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Reason
from stirfall.bench.records import Attempt
from stirfall.bench.running import EventKind, Run, RunEvent, Step
from stirfall.session.run_shown import ClosingLine
from stirfall.session.run_timing import path_of

HEAT_OFF, COLD, ATTEMPT, MASSES, RESIDUE, TOOLS = "heat off", "cold", "attempt", "masses", "residue", "tools"
REGISTERED, NO_RESIDUE, NOT_WEIGHED, WEIGHED = "registered", "none", "not weighed", "weighed"
RECORDED, NOT_RECORDED = "recorded", "not recorded"
GIVE_UP = "give up"
"""The ANSWER event that a run is given up; its text is the reason."""
_OPTIONS = {RESIDUE: (REGISTERED, NO_RESIDUE), MASSES: (NOT_WEIGHED,), ATTEMPT: (RECORDED, NOT_RECORDED)}


def given_up(run: Run) -> str:
    """Return the reason for which a run was given up, "" for one that goes on."""
    told = [e.text for e in run.events if e.kind is EventKind.ANSWER and e.word == GIVE_UP]
    return told[-1] if told else ""


def was_heated(run: Run) -> bool:
    """Whether a step beyond the checks was ever begun; before that nothing is hot and nothing is to be closed."""
    return any(event.kind is EventKind.STEP and event.step != Step.CHECKS for event in run.events)


def attempt_of_run(state: CampaignState, run: Run) -> Attempt | None:
    """Return the attempt that a run was recorded as, None where there is none (or it was withdrawn)."""
    if run.attempt_id is None:
        return None
    return next((each for each in reversed(state.attempts) if each.id == run.attempt_id), None)


def closing_list(state: CampaignState, run: Run) -> tuple[ClosingLine, ...]:
    """Return the lines of the closing list, in the order in which they are worked through."""
    ticks = {event.word: event for event in run.events if event.kind is EventKind.TICK}
    return tuple(_line(key, ticks.get(key), state, run) for key in _keys(state, run))


def _keys(state: CampaignState, run: Run) -> tuple[str, ...]:
    was_given_up, recorded = bool(given_up(run)), attempt_of_run(state, run)
    # Metal that was not lifted out still lies in the oil: that must be cold, or watched.
    cold = (COLD,) if was_given_up and all(each.step is not Step.LIFT for each in path_of(run)) else ()
    attempt = (ATTEMPT,) if was_given_up or recorded is None else ()
    masses = () if recorded is None or recorded.aborted else (MASSES,)
    return (HEAT_OFF, *cold, *attempt, *masses, RESIDUE, TOOLS)


def _line(key: str, tick: RunEvent | None, state: CampaignState, run: Run) -> ClosingLine:
    recorded = attempt_of_run(state, run)
    options, done, said = _OPTIONS.get(key, ()), tick is not None, tick.text if tick is not None else ""
    if key == ATTEMPT and recorded is not None:
        done, said, options = True, RECORDED, ()
    elif key == ATTEMPT and said == RECORDED:
        done, said = False, ""  # it was recorded and that was taken back
    elif key == MASSES and recorded is not None and _is_weighed(recorded):
        done, said, options = True, WEIGHED, ()
    elif key == RESIDUE and said == REGISTERED and not state.residues:
        done, said = False, ""  # it was registered and that was taken back
    hint = Reason("run.close.register_first") if key == RESIDUE and not done and not state.residues else None
    text = Reason(f"run.close.{key.replace(' ', '_')}")
    return ClosingLine(key, text, done, options, said, tick.at if done and tick is not None else None, hint)


def _is_weighed(attempt: Attempt) -> bool:
    masses = attempt.masses
    return any(value is not None for value in (masses.product_g, masses.beads_g, masses.residue_g))


def read_tick(state: CampaignState, run: Run, key: str, text: str) -> str:
    """Return what a line is ticked with; raises InputError ``run.no_line``, ``run.answer_unknown``.

    ``registered`` is refused with ``run.close.register_first`` while no residue stands in the register.
    """
    line = next((each for each in closing_list(state, run) if each.key == key), None)
    if line is None:
        raise InputError("run.no_line")
    word = " ".join(text.split()).casefold()
    if line.options and word not in line.options:
        raise InputError("run.answer_unknown", answer=text.strip() or "nothing", known=", ".join(line.options))
    if key == RESIDUE and word == REGISTERED and not state.residues:
        raise InputError("run.close.register_first")
    return word if line.options else ""


def first_open(lines: tuple[ClosingLine, ...]) -> ClosingLine | None:
    """Return the first line that is still to be worked through."""
    return next((line for line in lines if not line.is_done), None)
