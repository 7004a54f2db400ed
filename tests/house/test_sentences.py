"""Every code of an error, a finding or a reason has its sentence, and every sentence is used."""

from __future__ import annotations

import ast
import re
import string
from collections.abc import Iterator

from house_source import Source

from stirfall.reporting.sentences import all_sentences

CODE = re.compile(r"^[a-z][a-z0-9_]*(\.[a-z0-9_]+)+$")
CARRIERS = {"InputError", "FileTroubleError", "StirfallError", "Reason"}


def _called(node: ast.Call) -> str:
    return node.func.id if isinstance(node.func, ast.Name) else getattr(node.func, "attr", "")


def _codes(source: Source) -> Iterator[tuple[str, int]]:
    """Yield what is handed as the code of an error or a reason, where it is written out."""
    for node in ast.walk(source.tree):
        if not isinstance(node, ast.Call):
            continue
        name = _called(node)
        if name in CARRIERS:
            candidates = [*node.args[:1], *(word.value for word in node.keywords if word.arg == "code")]
        elif name in ("finding", "Finding"):
            candidates = [*node.args[1:2], *(word.value for word in node.keywords if word.arg == "code")]
        else:
            continue
        for candidate in candidates:
            for inner in ast.walk(candidate):
                if isinstance(inner, ast.Constant) and isinstance(inner.value, str):
                    yield inner.value, inner.lineno


def test_every_code_written_in_the_program_has_a_sentence(sources: list[Source]) -> None:
    known = all_sentences()
    found = [(source, code, line) for source in sources for code, line in _codes(source) if CODE.match(code)]
    assert len(found) > 30
    assert [f"{source.name}:{line} {code}" for source, code, line in found if code not in known] == []


def test_every_sentence_belongs_to_a_code_of_the_program(sources: list[Source]) -> None:
    elsewhere = "\n".join(source.text for source in sources if "reporting/sentences/" not in source.name)
    # A code may be put together, as in f"direction.{code}" or f"{kind}.exists".
    starts = tuple(re.findall(r'f"([a-z_]+(?:\.[a-z_]+)*[._])\{', elsewhere))
    ends = tuple(re.findall(r'f"\{[^}"]+\}(\.[a-z_]+)"', elsewhere))
    unused = [code for code in all_sentences() if f'"{code}"' not in elsewhere and not code.startswith(starts)]
    assert [code for code in unused if not code.endswith(ends)] == []


def test_sentences_are_calm_and_their_gaps_have_names() -> None:
    wrong = []
    for code, text in all_sentences().items():
        gaps = [name for _, name, _, _ in string.Formatter().parse(text) if name is not None]
        if "!" in text or not text.strip() or not all(name.isidentifier() for name in gaps):
            wrong.append((code, text))
    assert wrong == []
