"""Short ids for labels: few characters that nobody mixes up, the last of which checks the others.

The alphabet has 23 characters, a prime number. Of every group that print or hurried handwriting mixes up, one
member at most is in it: D of D O 0 Q; L of L I 1; S of S 5; T of T 7; U of U V; 2 of 2 Z 7; 3 of 3 8 B; 4 of 4 9;
6 of 6 G 8 and of 6 9, which also differ only by which way is up. (Which groups: common practice, no source; that
4 and 9, 3 and 8, 1 and 7 head the confusions of handwritten digits is from memory.)

The check is a weighted sum modulo 23 with the weights 1, 2, 3, ... from the right, as ISBN-10 has it modulo 11
(ISO 2108, from memory; ISO/IEC 7064 is a relative with powers as weights). No weight is zero and no two are equal
modulo the prime, so every single wrong character and every swap of two characters is noticed, at up to 22
characters.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from zlib import crc32

from stirfall.bench.errors import InputError

ALPHABET = "ACDEFHJKLMNPRSTUWXY2346"
LOOK_ALIKES = ("DO0Q", "LI1", "S5", "T7", "1I7", "UV", "VY", "2Z7", "38B", "49", "6G8", "69", "CG", "S8")
SHORTEST, LONGEST = 4, 22
_BASE = len(ALPHABET)
_PLACE = {character: place for place, character in enumerate(ALPHABET)}
# An id begins with a letter, so that no spreadsheet takes one like 2E34 for a number.
_LETTERS = tuple(character for character in ALPHABET if character.isalpha())
_IGNORED = dict.fromkeys(map(ord, " \t\r\n-\u00a0\u2009\u202f\u2010\u2011\u2012\u2013\u2212"))


def new_short_id(taken: Iterable[str], *, salt: str = "") -> str:
    """Return an id that is not among ``taken``, of 4 characters, or of more when all of these are taken.

    No chance is involved: the same ``taken`` and ``salt`` give the same id. Ids that follow each other differ in
    all characters of their body. With ``salt``, such as the name of a session, two sessions begin at different ids.
    """
    known = {text.strip().upper() for text in taken}
    return next(code for length in range(SHORTEST, LONGEST + 1) for code in _ids(length, known, salt))


def _ids(length: int, known: set[str], salt: str) -> Iterable[str]:
    """Yield the free ids of one length, beginning with the one whose turn it is."""
    size = len(_LETTERS) * _BASE ** (length - 2)
    count = sum(1 for text in known if len(text) == length and text[0] in _LETTERS and is_short_id(text))
    start = crc32(f"{length} {salt}".encode())
    if count >= size:
        return
    for turn in range(size):
        body = _body((start + (count + turn) * _step(size)) % size, length - 1)
        code = body + check_character(body)
        if code not in known:
            yield code


def _step(size: int) -> int:
    """Return a stride near the golden section of ``size`` that visits every number: coprime to 19 and to 23."""
    step = int(size * 0.6180339887)
    while step % len(_LETTERS) == 0 or step % _BASE == 0:
        step += 1
    return step


def _body(number: int, length: int) -> str:
    """Write a number with ``length`` characters, the first of which is a letter."""
    characters = []
    for _ in range(length - 1):
        number, place = divmod(number, _BASE)
        characters.append(ALPHABET[place])
    return _LETTERS[number] + "".join(reversed(characters))


def check_character(body: str) -> str:
    """Return the character that makes ``body`` whole; raises InputError ``id.character``."""
    return ALPHABET[check_value(_places(body), _BASE)]


def check_value(values: Sequence[int], modulus: int) -> int:
    """Return the last value that makes the sum of values, weighted 1, 2, 3, ... from the right, divisible.

    ``modulus`` is a prime above the number of values and above each value. Source: see the module.
    """
    total = sum(weight * value for weight, value in enumerate(reversed(values), start=2))
    return -total % modulus


def is_short_id(text: str) -> bool:
    """Whether ``text`` is an id of this program exactly as it is written on a label."""
    if not SHORTEST <= len(text) <= LONGEST or not all(character in _PLACE for character in text):
        return False
    return check_character(text[:-1]) == text[-1]


def read_short_id(text: str) -> str:
    """Return the id that was typed; letter case, spaces and hyphens do not matter.

    Raises InputError ``id.character`` for a character that no id has, and ``id.check`` when the last character does
    not fit the others.
    """
    plain = text.translate(_IGNORED).upper()
    _places(plain)
    if not is_short_id(plain):
        raise InputError("id.check", text=text.strip())
    return plain


def _places(text: str) -> list[int]:
    for character in text:
        if character not in _PLACE:
            raise InputError("id.character", text=text, character=character)
    return [_PLACE[character] for character in text]
