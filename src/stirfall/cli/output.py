"""What the command line prints: text for people in what their terminal can show, JSON for programs."""

from __future__ import annotations

import io
import json
import math
import re
import sys
from collections.abc import Mapping

import click

from stirfall.bench.estimates import Estimate
from stirfall.bench.units import MINUS, THIN_SPACE

# Characters that would begin a new line or steer the terminal (ECMA-48), and the two line ends of Unicode.
_CONTROL = re.compile("[\x00-\x1f\x7f-\x9f\u2028\u2029]+")
# What a terminal that cannot show these characters gets instead.
_PLAIN = {
    f"{THIN_SPACE}\u00b0": " deg ",
    " \u00b0": " deg ",
    THIN_SPACE: " ",
    "\u202f": " ",
    "\u00a0": " ",
    MINUS: "-",
    "\u00f7": "/",
    "\u00b1": "+-",
    "\u2013": "-",
    "\u2014": "-",
    "\u00d7": "x",
    "\u00b0": " deg ",
    "\u00b2": "^2",
    "\u00b5": "u",
    "\u03bc": "u",
    "\u201c": '"',
    "\u201d": '"',
    "\u2019": "'",
    "\u2026": "...",
    "\u2265": ">=",
    "\u2264": "<=",
    "\u2022": "*",
}


def prepare_streams() -> None:
    """Let no character that a terminal cannot show stop the program."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")


def say(text: str = "") -> None:
    """Print a line for people."""
    click.echo(for_terminal(text, getattr(sys.stdout, "encoding", None)))


def complain(text: str) -> None:
    """Print one line on standard error, whatever a file or a cell brought into the text."""
    line = _CONTROL.sub(" ", text)
    click.echo(for_terminal(line, getattr(sys.stderr, "encoding", None)), err=True)


def say_json(document: Mapping[str, object]) -> None:
    """Print a JSON document, in ASCII so that every pipe carries it; a number that is not finite becomes null."""
    click.echo(json.dumps(finite(document), indent=2))


def for_terminal(text: str, encoding: str | None) -> str:
    """Return the text with thin spaces and signs kept only where the encoding is a Unicode one."""
    if (encoding or "").lower().replace("-", "").replace("_", "").startswith("utf"):
        return text
    for character, plain in _PLAIN.items():
        text = text.replace(character, plain)
    return text


def finite(value: object) -> object:
    """Return a value for JSON: mappings and sequences copied, numbers that are not finite as None."""
    if isinstance(value, Mapping):
        return {str(key): finite(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [finite(item) for item in value]
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    return value


def estimate_json(estimate: Estimate) -> dict[str, object]:
    """Return an estimate as JSON has it."""
    return {
        "mean": estimate.mean,
        "lower": estimate.lower,
        "upper": estimate.upper,
        "level": estimate.level,
        "n": estimate.n,
    }
