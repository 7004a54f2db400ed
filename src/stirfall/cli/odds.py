"""``stirfall odds``: how likely a clean separation is, by the posterior or by likelihood."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from stirfall import __version__
from stirfall.bench.errors import InputError
from stirfall.cli.conditions import choose
from stirfall.cli.output import say, say_json
from stirfall.cli.session_arguments import (
    at_option,
    conditions_at,
    gates_option,
    json_option,
    number_of_gates,
    open_to_read,
    session_argument,
)

if TYPE_CHECKING:
    from stirfall.session.document import Document

SCHEMA = "stirfall.odds/1"


@click.command("odds")
@session_argument
@at_option
@click.option(
    "--method",
    type=click.Choice(["posterior", "ml", "firth"]),
    default="posterior",
    help="The posterior, which always exists; maximum likelihood, which may not; or penalised likelihood (Firth).",
)
@gates_option
@click.option("--lot", metavar="NAME", help="Answer for this lot instead of for a new one (posterior only).")
@click.option("--lot-effect", is_flag=True, help="Let lots differ: one random intercept each (maximum likelihood).")
@click.option(
    "--nodes", type=click.IntRange(1, 100), metavar="K", help="Points per lot, 25 otherwise; 1 is Laplace."
)
@json_option
def command(
    session: Path,
    *,
    at: tuple[str, ...],
    method: str,
    gates: str | None,
    lot: str | None,
    lot_effect: bool,
    nodes: int | None,
    as_json: bool,
) -> int:
    """Say how likely a clean separation is.

    Without --at the answer is for the best condition now; where the limits allow none, for the last attempt.
    Exit code 1 when likelihood, plain or penalised, is asked for and has no answer.
    """
    if lot is not None and method != "posterior":
        raise InputError("odds.lot_needs_posterior")
    if lot_effect and method != "ml":
        raise InputError("odds.lot_effect_needs_ml")
    if nodes is not None and not lot_effect:
        raise InputError("odds.nodes_need_lot_effect")
    with open_to_read(session) as document:
        state = document.state
        decreed = number_of_gates(state, gates)
        given = conditions_at(state.factors, at)
        head = _head(document, method)
    if lot_effect:
        from stirfall.cli.odds_lots import lots_json, lots_lines, lots_of_campaign

        shared = lots_of_campaign(state, given, decreed, nodes=nodes)
        _print({**head, **lots_json(shared)} if as_json else lots_lines(state, shared))
        return 0 if shared.exists else 1
    if method == "ml":
        from stirfall.cli.odds_ml import fit_campaign, ml_json, ml_lines

        answer = fit_campaign(state, given, decreed)
        _print({**head, **ml_json(answer)} if as_json else ml_lines(state, answer))
        return 0 if answer.exists else 1
    if method == "firth":
        from stirfall.cli.odds_firth import firth_json, firth_lines, firth_of_campaign

        told = firth_of_campaign(state, given, decreed)
        _print({**head, **firth_json(told)} if as_json else firth_lines(state, told))
        return 0 if told.exists else 1
    from stirfall.cli.odds_forms import lot_of
    from stirfall.cli.odds_posterior import posterior_json, posterior_lines
    from stirfall.session.analysis import analyse

    analysis = lot_of(analyse(state, gates=decreed, refined=True), lot).for_level_in(given)
    chosen = choose(analysis, given)
    _print({**head, **posterior_json(analysis, chosen)} if as_json else posterior_lines(analysis, chosen))
    return 0


def _print(answer: Mapping[str, object] | Sequence[str]) -> None:
    if isinstance(answer, Mapping):
        say_json(answer)
        return
    for line in answer:
        say(line)


def _head(document: Document, method: str) -> dict[str, object]:
    settings = document.state.settings
    return {
        "schema": SCHEMA,
        "program": {"name": "stirfall", "version": __version__},
        "session": {
            "path": str(document.path),
            "title": settings.title,
            "invented": settings.invented,
            "fingerprint": document.fingerprint,
        },
        "method": method,
    }
