"""``stirfall rehearse``: how many attempts and weeks to expect, from whole campaigns played ahead."""

from __future__ import annotations

import signal
import sys
import threading
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from types import FrameType
from typing import TYPE_CHECKING

import click

from stirfall import __version__
from stirfall.bench.campaign import CampaignState
from stirfall.bench.cancel import Cancelled, CancelToken
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Factor
from stirfall.bench.typed import read_conditions
from stirfall.cli.output import complain, say, say_json
from stirfall.cli.session_arguments import json_option, open_to_read, session_argument

if TYPE_CHECKING:
    from stirfall.planning.rehearsal import Guess, Hump, Rehearsed

SCHEMA = "stirfall.rehearse/1"
_STEPS = 20


@click.command("rehearse")
@session_argument
@click.option("--campaigns", type=int, default=50, help="How many campaigns to play for each order.")
@click.option("--target", type=float, help="The probability that is wanted of the recipe; else the plan's.")
@click.option("--orders", metavar="WORDS", help="The orders to compare, with commas; else all.")
@click.option("--most", type=int, default=30, help="The most further attempts of a campaign.")
@click.option("--guess", "guesses", metavar="TEXT", multiple=True, help="A stated guess: best=0.9, age=24:3.")
@click.option("--lot", help="The lot that new jars are of; else a new one.")
@click.option("--seed", type=int, default=0, help="The same seed gives the same answer.")
@click.option("--jobs", type=int, default=-1, help="How many processes share the work; -1: one for each core.")
@click.option("--cluster", metavar="ADDRESS", help="A Dask scheduler whose workers do the work.")
@click.option("--record", type=click.Path(path_type=Path), help="Keep each campaign in this file, to go on later.")
@json_option
def command(
    session: Path,
    *,
    campaigns: int,
    target: float | None,
    orders: str | None,
    most: int,
    guesses: tuple[str, ...],
    lot: str | None,
    seed: int,
    jobs: int,
    cluster: str | None,
    record: Path | None,
    as_json: bool,
) -> int:
    """Play whole campaigns ahead from what the session FILE says now, and tell what to expect.

    Progress is told on standard error. Interrupted, it ends with exit code 2; what is kept in --record is gone on
    with by the same command.
    """
    from stirfall.planning.rehearsal import ORDERS
    from stirfall.session.analysis import analyse
    from stirfall.session.rehearsing import rehearse_session

    with open_to_read(session) as document:
        analysis = analyse(document.state, refined=True).for_lot(_known_lot(document.state, lot))
        now, fingerprint = document.now(), document.fingerprint
    progress = _Progress()
    with _stopped_by_key() as token:
        try:
            rehearsed = rehearse_session(
                analysis,
                now=now,
                orders=ORDERS if orders is None else _words(orders),
                campaigns=campaigns,
                target=target,
                most=most,
                guess=read_guess(analysis.state.visible_factors, guesses),
                seed=seed,
                jobs=jobs,
                cluster=cluster,
                record=record,
                progress=progress,
                token=token,
            )
        except Cancelled:
            progress.stop()
            complain(_stopped(progress, record))
            return 2
    identity = {"path": str(session), "title": analysis.state.settings.title, "fingerprint": fingerprint}
    _tell(rehearsed, identity, as_json=as_json)
    return 0


def _tell(rehearsed: Rehearsed, identity: Mapping[str, object], *, as_json: bool) -> None:
    from stirfall.reporting.rehearsal_words import rehearsal_json, rehearsal_lines

    if as_json:
        head = {"schema": SCHEMA, "program": {"name": "stirfall", "version": __version__}, "session": identity}
        say_json({**head, **rehearsal_json(rehearsed)})
        return
    for line in rehearsal_lines(rehearsed):
        say(line)


def _words(text: str) -> list[str]:
    return [word.strip() for word in text.split(",") if word.strip()]


def _known_lot(state: CampaignState, lot: str | None) -> str | None:
    """Return the lot; raises InputError ``rehearsal.lot_unknown`` for a name that no lot has."""
    if lot is not None and state.lot(lot) is None:
        raise InputError("rehearsal.lot_unknown", lot=lot, known=", ".join(each.id for each in state.lots))
    return lot


def read_guess(factors: tuple[Factor, ...], texts: Sequence[str]) -> Guess | None:
    """Read ``best=0.9`` and ``NAME=PLACE:WIDTH``; None where nothing is stated.

    A place may have a unit, ``?`` is anywhere within the limits; the width may be left out. Raises InputError
    ``rehearsal.guess_*`` and those of the values.
    """
    from stirfall.planning.rehearsal import Guess

    if not texts:
        return None
    best, humps = {}, []
    for text in texts:
        name, sign, value = (part.strip() for part in text.partition("="))
        if not (name and sign and value):
            raise InputError("rehearsal.guess_unreadable", text=text)
        if name == "best":
            best = {"best": _number(value, text)}
        else:
            humps.append(_hump(factors, name, value, text))
    return Guess(**best, humps=tuple(humps))


def _hump(factors: tuple[Factor, ...], name: str, value: str, text: str) -> Hump:
    from stirfall.planning.rehearsal import Hump

    place, _, width = (part.strip() for part in value.rpartition(":")) if ":" in value else (value, "", "")
    wide = _number(width, text) if width else None
    if place in ("", "?"):
        return Hump(name, None, wide)
    read = read_conditions(factors, {name: place})
    (found,) = read.items()
    return Hump(found[0], found[1], wide)


def _number(value: str, text: str) -> float:
    try:
        return float(value)
    except ValueError:
        raise InputError("rehearsal.guess_unreadable", text=text) from None


def _stopped(progress: _Progress, record: Path | None) -> str:
    done = f"Stopped after {progress.done} of {progress.of} campaigns."
    if record is None:
        return f"{done} Nothing was kept; with --record a rehearsal can be gone on with."
    return f"{done} They are kept in {record}; the same command goes on from there."


class _Progress:
    """Writes progress on standard error: in place on a terminal, else a line at every twentieth."""

    def __init__(self) -> None:
        self.done = self.of = 0
        self._told = -1
        self._in_place = sys.stderr.isatty()

    def __call__(self, done: int, of: int) -> None:
        self.done, self.of = done, of
        step = done * _STEPS // of
        if step == self._told and not self._in_place:
            return
        self._told = step
        text = f"Rehearsing: {done} of {of} campaigns"
        click.echo(f"\r{text}" if self._in_place else text, err=True, nl=not self._in_place)
        if done == of:
            self.stop()

    def stop(self) -> None:
        if self._in_place:
            click.echo(err=True)


@contextmanager
def _stopped_by_key() -> Iterator[CancelToken]:
    """Let Ctrl-C ask the rehearsal to stop, so that every finished campaign is kept; pressed twice it just ends."""
    token = CancelToken()
    if threading.current_thread() is not threading.main_thread():
        yield token
        return

    def stop(number: int, frame: FrameType | None) -> None:
        if token.is_cancelled:
            signal.default_int_handler(number, frame)
        token.cancel()

    before = signal.signal(signal.SIGINT, stop)
    try:
        yield token
    finally:
        signal.signal(signal.SIGINT, before)
