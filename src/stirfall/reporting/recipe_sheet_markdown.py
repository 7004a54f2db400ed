"""The bench sheet as Markdown, with boxes to tick."""

from __future__ import annotations

from collections.abc import Iterable

from stirfall.reporting.markdown import plain
from stirfall.reporting.recipe_sheet import HEAD_BLANKS, MASS_BLANKS, QUESTIONS, BenchSheet, SheetStep

_LINE = r"\_\_\_\_\_\_"


def sheet_markdown(sheet: BenchSheet) -> str:
    """Return the whole sheet; limits and cautions are always in it."""
    blocks = [
        f"# Bench sheet: {plain(sheet.title)}",
        *([f"**{sheet.notice}**"] if sheet.notice else []),
        _bullets((*sheet.facts, sheet.batch, sheet.chance, f"{sheet.issued}, session {sheet.mark}")),
        f"**{plain(sheet.cautions.headline)}**",
        *_titled("Stop", sheet.stops),
        *_titled("Heed", sheet.warnings),
        " · ".join(f"{word} {_LINE}" for word in HEAD_BLANKS),
        "## Steps",
        *([_step(step) for step in sheet.steps] or ["No steps are given: see what must be heeded first."]),
        "## Result",
        "\n".join(f"- {question}: {' · '.join(f'[ ] {word}' for word in words)}" for question, words in QUESTIONS),
        " · ".join(f"{word} {_LINE}" for word in MASS_BLANKS),
        *_titled("Limits", sheet.limits),
        "## Cautions",
        "\n".join(
            f"- {'[ ] ' if each.check else ''}{plain(each.text)} ({plain(each.source)})"
            for each in sheet.cautions.items
        ),
    ]
    return "\n\n".join(blocks) + "\n"


def _step(step: SheetStep) -> str:
    lines = [f"- [ ] **{step.number} {step.heading}.** {plain(step.text)}"]
    lines += [f"  - {plain(label)}: **{plain(amount)}**" for label, amount in step.amounts]
    for value in step.values:
        told = f"{plain(value.name)}: **{plain(value.value)}** ({plain(value.tolerance)})"
        if step.timer and value.name == step.timed:
            lines.append(f"  - [ ] {told}, timer **{step.timer}**, stopped at {_LINE}")
        else:
            lines.append(f"  - {told}, reached {_LINE}")
    return "\n".join(lines)


def _titled(title: str, lines: Iterable[str]) -> list[str]:
    told = list(lines)
    return [f"## {title}", _bullets(told)] if told else []


def _bullets(lines: Iterable[str]) -> str:
    return "\n".join(f"- {plain(line)}" for line in lines)
