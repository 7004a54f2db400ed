"""One Python file of the program, as the house rules read it."""

from __future__ import annotations

import ast
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ROOT / "src" / "stirfall"


@dataclass(frozen=True)
class Source:
    """Its path, text, syntax tree and place in the house."""

    path: Path

    @cached_property
    def text(self) -> str:
        return self.path.read_text(encoding="utf-8")

    @cached_property
    def tree(self) -> ast.Module:
        return ast.parse(self.text, filename=str(self.path))

    @property
    def name(self) -> str:
        """The path inside the package, such as ``bench/units.py``."""
        return self.path.relative_to(PACKAGE).as_posix()

    @property
    def floor(self) -> str:
        """The package that the file belongs to; a file beside the packages is its own."""
        return self.name.split("/", 1)[0].removesuffix(".py")
