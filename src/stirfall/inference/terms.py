"""The terms of a model: what each coefficient is called and which factors it belongs to."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

TermKind = Literal["intercept", "number", "level", "square", "product"]
TIMES = "\u00d7"


@dataclass(frozen=True)
class Term:
    """One coefficient: a readable name, its kind, its factors, and the level (or levels) of a choice."""

    name: str
    kind: TermKind
    factors: tuple[str, ...] = ()
    level: str | None = None


INTERCEPT = Term("(intercept)", "intercept")


def main_term(factor: str, level: str | None) -> Term:
    """Return the term of a number, or of one level of a choice."""
    if level is None:
        return Term(factor, "number", (factor,))
    return Term(f"{factor}: {level}", "level", (factor,), level)


def square_term(factor: str) -> Term:
    """Return the hump of a number."""
    return Term(f"{factor} squared", "square", (factor,))


def product_term(first: Term, second: Term) -> Term:
    """Return the product of two main terms."""
    levels = [term.level for term in (first, second) if term.level is not None]
    level = f" {TIMES} ".join(levels) if levels else None
    return Term(f"{first.name} {TIMES} {second.name}", "product", first.factors + second.factors, level)
