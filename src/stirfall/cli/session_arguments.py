"""What several sub-commands take: the session file, conditions as NAME=VALUE, the number of gates."""

from __future__ import annotations

import os
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from stirfall.bench.ages import as_utc
from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor
from stirfall.bench.typed import read_conditions

if TYPE_CHECKING:
    from stirfall.session.document import Document

_LAST_YEAR = 9999
session_argument = click.argument("session", metavar="FILE", type=click.Path(path_type=Path))


def complete_factor(_ctx: click.Context, _param: click.Parameter, incomplete: str) -> list[str]:
    """Return the factors of the session that stands on the line already, for a shell that fills in ``NAME=``."""
    from click.shell_completion import split_arg_string

    from stirfall.bench.errors import StirfallError

    # The line cannot be read as a whole yet: its last option has no value.
    words = [Path(word) for word in split_arg_string(os.environ.get("COMP_WORDS", ""))[2:]]
    try:
        with open_to_read(next((word for word in words if word.is_file()), Path())) as document:
            names = [f"{factor.name}=" for factor in document.state.visible_factors]
    except (StirfallError, OSError):
        return []  # what is no session yet has no factors
    # bash takes the words as they are; the others put a blank into quotes by themselves.
    is_bare = os.environ.get("_STIRFALL_COMPLETE", "").startswith("bash")
    found = [name for name in names if name.casefold().startswith(incomplete.casefold())]
    return [name.replace(" ", "\\ ") for name in found] if is_bare else found


at_option = click.option(
    "--at",
    "at",
    metavar="NAME=VALUE",
    multiple=True,
    shell_complete=complete_factor,
    help="A condition, with its unit if you like: --at age='3 d'. Repeat for each factor.",
)
json_option = click.option("--json", "as_json", is_flag=True, help="Print a JSON document instead of text.")
gates_option = click.option(
    "--gates", type=click.Choice(["one", "two"]), help="How the outcome is modelled; the session decides otherwise."
)


def open_to_read(path: Path) -> Document:
    """Open a session without taking it from a window that has it open."""
    from stirfall.session.document import Document

    return Document.open(path, read_only=True)


def read_moment(text: str) -> datetime:
    """Read a moment; without a zone it is local time. Raises InputError ``time.unreadable``."""
    try:
        moment = as_utc(datetime.fromisoformat(text.strip()).astimezone())
    except (ValueError, OSError, OverflowError) as error:
        raise InputError("time.unreadable", text=text) from error
    if moment.year >= _LAST_YEAR:  # forecasts and evenings look ahead, and no calendar goes further
        raise InputError("time.unreadable", text=text)
    return moment


def conditions_at(factors: tuple[Factor, ...], texts: Sequence[str]) -> Conditions:
    """Read ``--at NAME=VALUE`` texts; raises InputError ``at.unreadable``, ``at.twice`` and those of the values."""
    given: dict[str, str] = {}
    for text in texts:
        name, value = _name_and_value(factors, text)
        if not (name.strip() and value.strip()):
            raise InputError("at.unreadable", text=text)
        if name.strip().casefold() in {known.casefold() for known in given}:
            raise InputError("at.twice", name=name.strip())
        given[name.strip()] = value.strip()
    return read_conditions(factors, given)


def _name_and_value(factors: tuple[Factor, ...], text: str) -> tuple[str, str]:
    """Split at the equals sign that leaves a known name before it, else at the first one; no sign, no value."""
    known = {factor.name.casefold() for factor in factors}
    first, _, rest = text.partition("=")
    name, value = first, rest
    while rest and " ".join(name.split()).casefold() not in known:
        more, _, rest = rest.partition("=")
        name, value = f"{name}={more}", rest
    return (name, value) if value else (first, text[len(first) + 1 :])


def number_of_gates(state: CampaignState, gates: str | None) -> int | None:
    """Return what ``--gates`` says, None where it says nothing; raises InputError ``odds.gates_not_graded``."""
    if gates == "two" and not any(attempt.parted is not None for attempt in state.attempts) and state.attempts:
        raise InputError("odds.gates_not_graded")
    return None if gates is None else 1 + (gates == "two")
