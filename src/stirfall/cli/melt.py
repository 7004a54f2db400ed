"""``stirfall melt``: what is physically to be expected of the melt at some conditions."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from stirfall import __version__
from stirfall.bench.campaign import CampaignState
from stirfall.bench.records import INVENTED_NOTICE
from stirfall.bench.units import format_quantity
from stirfall.cli.output import say, say_json
from stirfall.cli.session_arguments import at_option, conditions_at, json_option, open_to_read, session_argument
from stirfall.reporting.sentences import sentence

if TYPE_CHECKING:
    from stirfall.session.melt import LiquidAtHand, MeltReport, Property

SCHEMA = "stirfall.melt/1"
_WORDS = {"fact": " ", "note": "-", "warn": "!", "unknown": "?"}


@click.command("melt")
@session_argument
@at_option
@json_option
def command(session: Path, *, at: tuple[str, ...], as_json: bool) -> int:
    """Say what falls, floats, settles, merges and tears in the melt of the session FILE; exit code 1 for a warning.

    What is not named takes the campaign's usual value. All of it is calculated for clean substances.
    """
    from stirfall.session.melt import melt_report

    with open_to_read(session) as document:
        state = document.state
        report = melt_report(state, conditions_at(state.factors, at))
    if as_json:
        say_json(_document(session, state, report))
    else:
        _say(state, report)
    return 1 if any(fact.level == "warn" for fact in report.facts) else 0


def _say(state: CampaignState, report: MeltReport) -> None:
    if state.settings.invented:
        say(f"{state.settings.title} ({INVENTED_NOTICE})")
    metal = report.metal.name or "The metal"
    where = "" if report.at_c is None else f" at {format_quantity(report.at_c, 'C')}"
    say(f"{metal}{where}, calculated for clean substances")
    for fact in report.facts:
        say(f"{_WORDS[fact.level]} {sentence(fact.code, fact.params)}")


def _document(session: Path, state: CampaignState, report: MeltReport) -> dict[str, object]:
    return {
        "schema": SCHEMA,
        "program": {"name": "stirfall", "version": __version__},
        "session": {"path": str(session), "title": state.settings.title},
        "invented": state.settings.invented,
        "at_c": report.at_c,
        "melting_c": report.melting_c,
        "window_c": None if report.window is None else list(report.window),
        "assumed": list(report.assumed),
        "metal": _liquid(report.metal),
        "oil": _liquid(report.oil),
        "facts": [
            {
                "key": fact.key,
                "level": fact.level,
                "value": fact.value,
                "low": fact.low,
                "high": fact.high,
                "unit": fact.unit,
                "code": fact.code,
                "text": sentence(fact.code, fact.params),
            }
            for fact in report.facts
        ],
        "missing": [{"code": each.code, "text": sentence(each.code, each.params)} for each in report.missing],
    }


def _liquid(liquid: LiquidAtHand) -> dict[str, object]:
    return {
        "name": liquid.name,
        "key": liquid.key,
        "density_kg_m3": _property(liquid.density),
        "viscosity_mpa_s": _property(liquid.viscosity),
        "tension_mn_m": _property(liquid.tension),
    }


def _property(found: Property | None) -> dict[str, object] | None:
    if found is None:
        return None
    return {
        "value": found.value,
        "percent": found.percent,
        "estimated": found.estimated,
        "extrapolated_k": found.extrapolated_k,
        "source": found.source,
    }
