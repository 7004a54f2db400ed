"""The parts of the recipe for readers that are the same in every form: titled lists, and the table of the batch."""

from __future__ import annotations

from dataclasses import dataclass

from stirfall.reporting.recipe_parts import Recipe, Step

_OF_ANY_SIZE = frozenset({"charge", "additive", "oil", "oil_cold", "oil_depth", "jar", "jar_oil", "fill"})
BATCH_HEADINGS = ("Quantity", "Proven batch", "This batch", "How it was got")


@dataclass(frozen=True)
class Section:
    """A title with finished lines below it."""

    title: str
    lines: tuple[str, ...]


def purpose_section(recipe: Recipe) -> tuple[Section, ...]:
    """Return what the recipe is for; nothing where an older program did not write it."""
    return _sections(recipe, ("What it is for", "purpose"))


def apparatus_section(recipe: Recipe) -> tuple[Section, ...]:
    """Return what it is done with."""
    return _sections(recipe, ("Apparatus", "apparatus"))


def record_sections(recipe: Recipe) -> tuple[Section, ...]:
    """Return what was tested and what failed."""
    return _sections(recipe, ("Tested range", "tested"), ("What failed", "failures"))


def last_sections(recipe: Recipe) -> tuple[Section, ...]:
    """Return what is not known, and where everything is kept."""
    return _sections(recipe, ("What is not known", "unknown"), ("References", "references"))


def _sections(recipe: Recipe, *wanted: tuple[str, str]) -> tuple[Section, ...]:
    book = recipe.handbook
    if book is None:
        return ()
    found = (Section(title, getattr(book, name)) for title, name in wanted)
    return tuple(each for each in found if each.lines)


def batch_rows(recipe: Recipe) -> tuple[tuple[str, str, str, str], ...]:
    """Return the rows below ``BATCH_HEADINGS``; for the proven size itself only what goes in, and what it fills."""
    batch = recipe.batch
    if batch is None:
        return ()
    shown = [line for line in batch.lines if batch.is_other_size or line.key in _OF_ANY_SIZE]
    return tuple((line.name, line.shown_before, line.shown_after, line.how) for line in shown)


def batch_notes(recipe: Recipe) -> tuple[str, ...]:
    """Return what is asked for, because it is not known."""
    if recipe.batch is None or not (recipe.batch.is_other_size or not recipe.batch.lines):
        return ()
    return recipe.batch.asked


def signs(step: Step) -> tuple[str, ...]:
    """Return what should be seen at a step and what to do when it is not, as two lines."""
    told = (("Should be seen", step.see), ("If not", step.otherwise))
    return tuple(f"{word}: {text}" for word, text in told if text)
