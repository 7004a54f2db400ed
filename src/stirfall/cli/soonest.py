"""``stirfall soonest``: the expected time to the first clean batch against the age at which jars are opened."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import click

from stirfall import __version__
from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions
from stirfall.cli.conditions import choose, write_conditions
from stirfall.cli.output import say, say_json
from stirfall.cli.session_arguments import at_option, conditions_at, json_option, open_to_read, session_argument

SCHEMA = "stirfall.soonest/1"


@click.command("soonest")
@session_argument
@at_option
@click.option("--along", metavar="NAME", help="The age or oil exposure to go along; the first one otherwise.")
@click.option("--jars", type=click.IntRange(1, 100), metavar="K", help="Jars opened at one age; else the plan's.")
@click.option("--lot", metavar="NAME", help="Answer for this lot instead of for a new one.")
@json_option
def command(
    session: Path, *, at: tuple[str, ...], along: str | None, jars: int | None, lot: str | None, as_json: bool
) -> int:
    """Say how long until the first clean batch, by the age at which jars are opened.

    Ageing, bench hours, jars in parallel and retries are counted. The other conditions are those of --at, else the
    best ones now. Never for a metal that must not be left to age.
    """
    from stirfall.cli.odds_forms import lot_of
    from stirfall.reporting.goal_words import time_curve_json, time_curve_lines
    from stirfall.session.analysis import analyse

    with open_to_read(session) as document:
        state = document.state
        given = conditions_at(state.factors, at)
    if not state.settings.material.may_lengthen_age:
        raise InputError("time_curve.never_wait")
    factor = along if along is not None else first_age(state)
    analysis = lot_of(analyse(state, refined=True), lot)
    analysis.limits.raise_if_blocked()
    chosen = choose(analysis, given)
    plan = state.settings.plan if jars is None else replace(state.settings.plan, jars_at_once=jars)
    curve = analysis.time_curve(factor, chosen.conditions, plan)
    rest = Conditions({name: value for name, value in chosen.conditions.items() if name != curve.factor.name})
    if as_json:
        say_json(
            {
                "schema": SCHEMA,
                "program": {"name": "stirfall", "version": __version__},
                "session": {"path": str(session), "title": state.settings.title},
                "conditions": dict(rest),
                "conditions_source": chosen.source,
                "lot": lot,
                **time_curve_json(curve),
            }
        )
        return 0
    if rest:
        say(f"{chosen.heading}: {write_conditions(state, rest)}")
    for line in time_curve_lines(curve):
        say(line)
    return 0


def first_age(state: CampaignState) -> str:
    """Return the name of the first age or oil exposure of a campaign; raises InputError ``time_curve.no_ages``."""
    from stirfall.session.time_curve import is_age

    for factor in state.visible_factors:
        if is_age(factor):
            return factor.name
    raise InputError("time_curve.no_ages")
