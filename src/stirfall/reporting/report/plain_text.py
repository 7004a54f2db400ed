"""Text of people made fit to stand in a report, whatever a file or a paste brought into it."""

from __future__ import annotations

import re

# Controls (but for the line feed), line ends of Unicode, and what turns the direction of the text after it (UAX 9).
_CONTROL = re.compile("[\x00-\x09\x0b-\x1f\x7f-\x9f]+")
_LINE_ENDS = re.compile("\r\n|[\r\u0085\u2028\u2029]")
_TURNING = re.compile("[\u202a-\u202e\u2066-\u2069\ufeff\ufff9-\ufffb]+|[\ud800-\udfff]+")


def shown(text: str) -> str:
    """Return the text without what would steer a reader's program or turn the words that follow it around."""
    return _CONTROL.sub(" ", _TURNING.sub("", _LINE_ENDS.sub("\n", text)))


def on_one_line(text: str) -> str:
    """Return the text as ``shown``, its lines one after the other."""
    return " ".join(shown(text).split("\n"))
