"""``stirfall proof``: plans a proof at one recipe, starts it, tells how it stands, and gives it up."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import click

from stirfall import __version__
from stirfall.bench.errors import InputError
from stirfall.bench.proofs import ProofRule
from stirfall.bench.records import INVENTED_NOTICE, find_factor
from stirfall.bench.units import parse_number
from stirfall.cli.conditions import write_conditions
from stirfall.cli.output import say, say_json
from stirfall.cli.session_arguments import at_option, conditions_at, json_option, open_to_read, session_argument

if TYPE_CHECKING:
    from stirfall.bench.campaign import CampaignState
    from stirfall.session.analysis import Analysis
    from stirfall.session.document import Document
    from stirfall.session.proof_outlook import ProofChoices
    from stirfall.session.proving import ProofStanding

SCHEMA = "stirfall.proof/1"
_NEW_LOT = "new"


@dataclass(frozen=True)
class _Wish:
    """What was asked for; None and empty: what is usual."""

    at: tuple[str, ...]
    rule: str | None
    claim: float | None
    confidence: float | None
    failures: tuple[int, ...]
    good: float | None
    risk: float | None
    attempts: int | None
    lots: tuple[str, ...]
    tolerances: tuple[str, ...]
    exact: bool


def _share(_context: click.Context, parameter: click.Parameter, text: str | None) -> float | None:
    """Read a share: 0.9, or 90, or 90 %; raises BadParameter."""
    if text is None:
        return None
    try:
        number = float(text.strip().removesuffix("%").replace(",", "."))
    except ValueError as error:
        raise click.BadParameter(f"{text} is no share", param=parameter) from error
    return number / 100.0 if number > 1.0 or text.strip().endswith("%") else number


@click.command("proof")
@session_argument
@click.argument("action", metavar="[plan|start|show|end]", type=click.Choice(["plan", "start", "show", "end"]))
@at_option
@click.option("--rule", type=click.Choice([rule.value for rule in ProofRule]), help="By count, or in sequence.")
@click.option("--claim", callback=_share, help="The reliability to show: 90 or 0.9, which is usual.")
@click.option("--confidence", callback=_share, help="With which confidence: 95 or 0.95, which is usual.")
@click.option("--failures", type=int, multiple=True, help="By count: how many may fail. Repeat to compare.")
@click.option("--good", callback=_share, help="In sequence: the reliability at which it should pass.")
@click.option("--risk", callback=_share, help="In sequence: the risk of missing at that reliability, 10 usually.")
@click.option("--attempts", type=int, help="So many attempts, in sequence at most, instead of the fewest that do.")
@click.option("--lot", "lots", multiple=True, help="The lot of the attempts, or new. Repeat for several.")
@click.option(
    "--tolerance", "tolerances", metavar="NAME=VALUE", multiple=True, help="How far a factor may lie off."
)
@click.option("--exact", is_flag=True, help="The chances for conditions that are held exactly.")
@click.option("--title", default="", help="What the proof is called.")
@click.option("--reason", default="", help="Why it is given up.")
@json_option
def command(session: Path, action: str, title: str, reason: str, *, as_json: bool, **wish: object) -> int:
    """Plan, start, show or end a proof in the session FILE.

    plan: the attempts that a claim takes at --at, or at the best condition now, with the chances to succeed.
    start: start it; its rule is then fixed. show: how the proofs stand. end: give the running one up.
    Exit code 1 where the limits allow no suggestion, or where there is no proof to show.
    """
    wanted = _Wish(**wish)  # type: ignore[arg-type]
    if action == "plan":
        return _plan(session, wanted, as_json=as_json)
    if action == "start":
        return _start(session, wanted, title, as_json=as_json)
    if action == "end":
        return _end(session, reason, as_json=as_json)
    with open_to_read(session) as document:
        return _show(session, document, wanted, as_json=as_json)


def _plan(session: Path, wish: _Wish, *, as_json: bool) -> int:
    from stirfall.reporting.proof_json import choices_json
    from stirfall.session.analysis import analyse

    with open_to_read(session) as document:
        analysis = analyse(document.state, refined=True)
        if _says_blocked(session, analysis, wish, as_json=as_json):
            return 1
        choices = _choices(analysis, wish, usual_failures=(0, 1, 2))
    if as_json:
        say_json({**_head(session, analysis.state), "action": "plan", "choices": choices_json(choices)})
        return 0
    for line in _choices_lines(analysis.state, choices):
        say(line)
    return 0


def _start(session: Path, wish: _Wish, title: str, *, as_json: bool) -> int:
    from stirfall.planning.proof import proof_of
    from stirfall.session.analysis import analyse
    from stirfall.session.commands import StartProof

    with _open_to_write(session) as document:
        analysis = analyse(document.state, refined=True)
        if _says_blocked(session, analysis, wish, as_json=as_json):
            return 1
        choices = _choices(analysis, wish, usual_failures=(0,), usual_rule=ProofRule.COUNT)
        if len(choices.outlooks) != 1:
            raise InputError("proof.one_rule")
        tolerances = {**choices.tolerances, **_tolerances(document.state, wish.tolerances)}
        plan = choices.outlooks[0].plan
        document.execute(StartProof(proof_of(plan, choices.recipe, tolerances, title=title)))
        return _show(session, document, wish, as_json=as_json, newest_only=True)


def _end(session: Path, reason: str, *, as_json: bool) -> int:
    from stirfall.session.commands import EndProof

    with _open_to_write(session) as document:
        running = document.state.open_proof
        if running is None:
            raise InputError("proof.none_runs")
        document.execute(EndProof(running.id, reason))
        return _show(session, document, None, as_json=as_json, newest_only=True)


def _show(
    session: Path, document: Document, wish: _Wish | None, *, as_json: bool, newest_only: bool = False
) -> int:
    from stirfall.reporting.proof_json import expected_json, standing_json
    from stirfall.reporting.proof_words import chance_lines
    from stirfall.session.analysis import analyse
    from stirfall.session.proof_outlook import outlook_from_here
    from stirfall.session.proving import all_standings

    state = document.state
    standings = all_standings(state, document.corrections())
    shown = standings[-1:] if newest_only else standings
    outlook = None
    if wish is not None and shown and shown[-1].verdict == "open":
        analysis = analyse(state, refined=True)
        outlook = outlook_from_here(analysis, shown[-1], lots=_lots(wish.lots), held=not wish.exact)
    if as_json:
        proofs = [standing_json(each) for each in shown]
        from_here = None if outlook is None else expected_json(outlook)
        say_json({**_head(session, state), "action": "show", "proofs": proofs, "from_here": from_here})
        return 0 if shown else 1
    if not shown:
        say("No proof was started in this session. `stirfall proof FILE plan` says what one would take.")
        return 1
    if state.settings.invented:
        say(f"{INVENTED_NOTICE}.")
    for each in shown:
        for line in _standing_text(state, each):
            say(line)
    for line in () if outlook is None else chance_lines(outlook):
        say(f"  {line}")
    return 0


def _choices(
    analysis: Analysis, wish: _Wish, *, usual_failures: Sequence[int], usual_rule: ProofRule | None = None
) -> ProofChoices:
    from stirfall.session import proof_outlook as usual

    given = conditions_at(analysis.state.factors, wish.at)
    rule = usual_rule if wish.rule is None else ProofRule(wish.rule)
    return usual.proof_choices(
        analysis,
        given or analysis.best().conditions,
        claim=usual.USUAL_CLAIM if wish.claim is None else wish.claim,
        confidence=usual.USUAL_CONFIDENCE if wish.confidence is None else wish.confidence,
        failures=wish.failures or usual_failures,
        good=wish.good,
        risk=usual.USUAL_RISK if wish.risk is None else wish.risk,
        attempts=wish.attempts,
        rules=tuple(ProofRule) if rule is None else (rule,),
        lots=_lots(wish.lots),
        held=not wish.exact,
    )


def _says_blocked(session: Path, analysis: Analysis, wish: _Wish, *, as_json: bool) -> bool:
    """Say why nothing may be suggested, where that is so and no conditions were given."""
    from stirfall.reporting.sentences import sentence

    if not analysis.limits.blocked or wish.at:
        return False
    texts = [sentence(found.code, found.params) for found in analysis.limits.findings]
    if as_json:
        say_json({**_head(session, analysis.state), "blocked": texts})
    else:
        for text in texts:
            say(text)
    return True


def _choices_lines(state: CampaignState, choices: ProofChoices) -> list[str]:
    from stirfall.reporting.proof_words import chance_lines, risk_lines, rule_line

    lines = [f"{INVENTED_NOTICE}."] if state.settings.invented else []
    lines.append(f"At {write_conditions(state, choices.recipe)}")
    if choices.filled:
        lines.append(f"Not given, usual value: {', '.join(choices.filled)}.")
    for number, outlook in enumerate(choices.outlooks, 1):
        lines.append(f"{number}. {rule_line(outlook.plan)}")
        lines += [f"   {line}" for line in (*chance_lines(outlook), *risk_lines(outlook.plan))]
    return lines


def _standing_text(state: CampaignState, standing: ProofStanding) -> list[str]:
    from stirfall.reporting.proof_words import rule_line, standing_lines

    proof = standing.proof
    started = f"{proof.started_at.astimezone():%Y-%m-%d %H:%M}"
    title = f"{proof.title}: " if proof.title else ""
    head = f"{title}started {started} at {write_conditions(state, proof.recipe)}"
    return [head, *(f"  {line}" for line in (rule_line(standing.plan), *standing_lines(standing)))]


def _tolerances(state: CampaignState, texts: Sequence[str]) -> dict[str, float]:
    """Read ``--tolerance NAME=VALUE``, a bare number in the factor's unit."""
    found = {}
    for text in texts:
        name, _, width = text.rpartition("=")
        try:
            found[find_factor(state.factors, name).name] = parse_number(width)
        except InputError as error:
            raise InputError("proof.tolerance_unreadable", text=text) from error
    return found


def _lots(names: Sequence[str]) -> tuple[str | None, ...]:
    return tuple(None if name.casefold() == _NEW_LOT else name for name in names) or (None,)


def _open_to_write(session: Path) -> Document:
    from stirfall.session.document import Document

    document = Document.open(session)
    if document.read_only_reason is not None:
        reason = document.read_only_reason
        document.close()
        raise reason
    return document


def _head(session: Path, state: CampaignState) -> dict[str, object]:
    return {
        "schema": SCHEMA,
        "program": {"name": "stirfall", "version": __version__},
        "session": {"path": str(session), "title": state.settings.title, "invented": state.settings.invented},
    }
