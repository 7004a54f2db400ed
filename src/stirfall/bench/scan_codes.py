"""What the square codes on labels and cards say: "SF", a letter for the kind, the value, one check letter.

A scanner types as a keyboard would, and what arrives depends on the layout that the computer is set to. Layouts
with QWERTY, QWERTZ and AZERTY rows agree on twenty letters (all but A, M, Q, W, Y, Z) and on no digit without the
shift key. So the value is written with sixteen of these letters, two for each byte of its UTF-8, and any jar id
works. The only letter outside is the A of attempts, which an AZERTY layout types as Q: both are read.

The check is a sum modulo 17 with powers of 3 as weights, in the manner of the pure systems of ISO/IEC 7064 (from
memory): every single wrong letter and every swap of neighbours is noticed. A lost letter leaves half a byte.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Kind = Literal["jar", "attempt", "lot", "act"]

PREFIX = "SF"
ACT_KEYS = ("NEXT", "MARK", "G1", "G2", "G3", "G4", "BACK", "DONE")
LETTERS = "BCDEFGHJKLNPRSTU"
_CHECKS = LETTERS + "X"
_MODULUS, _RADIX = 17, 3
_KINDS: dict[str, Kind] = {"J": "jar", "A": "attempt", "L": "lot", "K": "act"}
_ORDER = {letter: place for place, letter in enumerate(_KINDS, start=1)}
_TYPED_AS = {"Q": "A"}


@dataclass(frozen=True)
class ScanCode:
    """What was scanned: a jar or a lot by its id, an attempt by its number, an act by its key; all as text."""

    kind: Kind
    value: str


def jar_code(jar_id: str) -> str:
    """Return the text of the code on the label of a jar."""
    return _write("J", jar_id)


def attempt_code(number: int) -> str:
    """Return the text of the code of an attempt."""
    return _write("A", str(number))


def lot_code(lot_id: str) -> str:
    """Return the text of the code of a lot."""
    return _write("L", lot_id)


def act_code(key: str) -> str:
    """Return the text of the code of an act on the card of acts; ``key`` is one of ``ACT_KEYS``."""
    if key not in ACT_KEYS:
        raise ValueError(key)
    return _write("K", key)


def read_code(text: str) -> ScanCode | None:
    """Return what a scanned text means, or None when it is no code of this program or was not read whole.

    Letter case and white space around it do not matter.
    """
    plain = text.strip().upper()
    if len(plain) < len(PREFIX) + 4 or not plain.startswith(PREFIX):
        return None
    letter, body, check = plain[2], plain[3:-1], plain[-1]
    letter = _TYPED_AS.get(letter, letter)
    if letter not in _KINDS or any(each not in LETTERS for each in body) or _check(letter, body) != check:
        return None
    value = _decoded(body)
    if not value or (letter == "A" and not value.isdecimal()) or (letter == "K" and value not in ACT_KEYS):
        return None
    return ScanCode(_KINDS[letter], value)


def _write(letter: str, value: str) -> str:
    body = "".join(LETTERS[byte >> 4] + LETTERS[byte & 15] for byte in value.encode("utf-8"))
    return f"{PREFIX}{letter}{body}{_check(letter, body)}"


def _decoded(body: str) -> str | None:
    if len(body) % 2:
        return None
    halves = [LETTERS.index(each) for each in body]
    try:
        return bytes(16 * high + low for high, low in zip(halves[::2], halves[1::2], strict=True)).decode("utf-8")
    except UnicodeDecodeError:
        return None


def _check(letter: str, body: str) -> str:
    """Return the check letter: with it as the last of the values, the weighted sum is divisible by 17."""
    total = 0
    for value in (_ORDER[letter], *(LETTERS.index(each) for each in body)):
        total = (total + value) * _RADIX % _MODULUS
    return _CHECKS[-total % _MODULUS]
