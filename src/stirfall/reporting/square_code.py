"""The square code of a text (QR code, ISO/IEC 18004), as rows of dark and light modules."""

from __future__ import annotations

from dataclasses import dataclass

QUIET = 4
"""Light modules that ISO/IEC 18004 wants around a code."""


@dataclass(frozen=True)
class SquareCode:
    """A code as ``rows`` of modules, True for dark, without the light margin of ``QUIET`` modules."""

    text: str
    rows: tuple[tuple[bool, ...], ...]

    @property
    def modules(self) -> int:
        """Modules along one side, with the light margin."""
        return len(self.rows) + 2 * QUIET


def square_code(text: str) -> SquareCode:
    """Return the code for ``text``; a quarter of it may be stained (error correction of level Q, or better)."""
    import segno

    made = segno.make(text, error="q", micro=False)
    return SquareCode(text, tuple(tuple(bool(module) for module in row) for row in made.matrix))
