"""Tells a scanner that types from a person who types: letters that may be a code are kept back until it is clear.

No Qt here. Times are in milliseconds of any clock that never goes back.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from stirfall.bench.scan_codes import PREFIX, ScanCode, read_code

GAP_MS = 80.0
"""Longest pause between two letters of one scan; a person's letter is kept back no longer than this."""
MISREAD = "misread"
_KINDS = "AJKLQ"  # Q is how an AZERTY layout types the A of attempts
_LEAST = len(PREFIX) + 4  # prefix, kind, two letters for one byte, check
_MOST = 600
_MISREAD_GAP_MS = {
    True: 50.0,
    False: 35.0,
}  # mean pause, with and without an Enter; no person is as fast


@dataclass
class Burst:
    """Letters that are kept back, in upper case, and when each came.

    >>> burst = Burst()
    >>> [burst.take(letter, at) for at, letter in enumerate("sf")], burst.take("t", 2)
    ([True, True], False)
    """

    text: str = ""
    times: list[float] = field(default_factory=list)

    def takes(self, letter: str, at_ms: float) -> bool:
        """Whether the letter carries on what is kept back (or begins a code where nothing is)."""
        if self.text and self.is_over(at_ms):
            return False
        return _may_be_code(self.text + letter.upper())

    def take(self, letter: str, at_ms: float) -> bool:
        """Keep a letter back where ``takes`` says so; returns whether it was kept."""
        if not self.takes(letter, at_ms):
            return False
        self.text += letter.upper()
        self.times.append(at_ms)
        return True

    def is_over(self, at_ms: float) -> bool:
        """Whether the pause since the last letter is longer than one within a scan."""
        return bool(self.times) and at_ms - self.times[-1] > GAP_MS

    def result(self, *, ended: bool) -> ScanCode | str | None:
        """Return the code that was scanned, ``MISREAD`` for a scan that was read wrongly, None for typed letters.

        ``ended`` says that Enter or Tab came right after the last letter, as most scanners send it.
        """
        code = read_code(self.text)
        if code is not None or len(self.text) < _LEAST:
            return code
        mean = (self.times[-1] - self.times[0]) / (len(self.times) - 1)
        return MISREAD if mean <= _MISREAD_GAP_MS[ended] else None

    def clear(self) -> None:
        """Keep nothing back any more."""
        self.text = ""
        self.times.clear()


def _may_be_code(text: str) -> bool:
    """Whether more letters could make a code of this text; every letter must be one that labels carry."""
    if len(text) > _MOST or not (text.isascii() and text.isalnum()):
        return False
    if len(text) <= len(PREFIX):
        return PREFIX.startswith(text)
    return text.startswith(PREFIX) and text[len(PREFIX)] in _KINDS
