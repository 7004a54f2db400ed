"""Files and functions stay small enough to read in one sitting."""

from __future__ import annotations

import ast
import statistics
import sys

from house_source import Source

FILE_WANTED, FILE_LIMIT = 300, 500
FUNCTION_WANTED, FUNCTION_LIMIT = 25, 60
MEDIAN_FROM, MEDIAN_TO = 50, 250


def _functions(source: Source) -> list[tuple[str, int]]:
    """Return name and length of every function, docstring left out: explaining is never too long."""
    found = []
    for node in ast.walk(source.tree):
        if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef)):
            length = (node.end_lineno or node.lineno) - node.lineno + 1
            first = node.body[0]
            if isinstance(first, ast.Expr) and isinstance(first.value, ast.Constant) and len(node.body) > 1:
                length -= (first.end_lineno or first.lineno) - first.lineno + 1
            found.append((f"{source.name}:{node.lineno} {node.name}", length))
    return found


def test_no_file_is_over_its_limit(sources: list[Source]) -> None:
    lengths = {source.name: source.text.count("\n") for source in sources}
    long = {name: length for name, length in lengths.items() if length > FILE_WANTED}
    if long:
        print(f"longer than the {FILE_WANTED} lines wanted: {long}", file=sys.stderr)
    assert {name: length for name, length in long.items() if length > FILE_LIMIT} == {}


def test_no_function_is_over_its_limit(sources: list[Source]) -> None:
    lengths = [item for source in sources for item in _functions(source)]
    assert len(lengths) > 50
    long = [item for item in lengths if item[1] > FUNCTION_WANTED]
    if long:
        print(f"{len(long)} of {len(lengths)} functions are longer than wanted: {long}", file=sys.stderr)
    assert [item for item in lengths if item[1] > FUNCTION_LIMIT] == []


def test_the_median_file_is_of_a_good_size(sources: list[Source]) -> None:
    sizes = [source.text.count("\n") for source in sources if source.path.name != "__init__.py"]
    assert MEDIAN_FROM <= statistics.median(sizes) <= MEDIAN_TO


def test_no_module_is_a_drawer_for_oddments(sources: list[Source]) -> None:
    drawers = {"utils", "util", "misc", "helpers", "helper", "common", "tools"}
    assert [source.name for source in sources if drawers & {*source.name.removesuffix(".py").split("/")}] == []
