"""Each package imports only from the floors below it, and nothing below the desktop knows Qt."""

from __future__ import annotations

import ast
import json
import subprocess
import sys
from collections.abc import Iterator

from house_source import Source

# Package, and the packages of ours that it may import from (itself always). Packages of one floor do not meet, but
# scripts write recipes as the command line does.
LOWER = ("bench", "physics", "inference", "storage", "planning", "session", "reporting")
BELOW: dict[str, set[str]] = {
    "bench": set(),
    "physics": {"bench"},
    "inference": {"bench"},
    "storage": {"bench"},
    "planning": {"bench", "physics", "inference", "storage"},
    "session": {"bench", "physics", "inference", "storage", "planning"},
    "reporting": {"bench", "physics", "inference", "storage", "planning", "session"},
    "desktop": set(LOWER),
    "cli": set(LOWER),
    "script_plans": set(LOWER),
    "script_pool": {*LOWER, "script_plans"},
    "script_import": {*LOWER, "cli", "script_plans"},
    "script_package": {*LOWER, "script_plans", "scripting"},
    "script_evidence": {*LOWER, "script_plans", "script_pool", "script_import", "script_package", "scripting"},
    "scripting": {
        *LOWER,
        "cli",
        "script_plans",
        "script_evidence",
        "script_pool",
        "script_import",
        "script_package",
    },
    "__init__": {"bench", "scripting"},
    "__main__": {"cli"},
}
QT = ("PySide6", "shiboken6", "pyqtgraph")
HEAVY = ("PySide6", "shiboken6", "pyqtgraph", "numpy", "scipy", "pandas", "pint", "segno")


def _imports(tree: ast.AST) -> Iterator[tuple[str, bool]]:
    """Yield every imported module and whether the import stands at the top of the file (and runs at once)."""
    typing_only = {
        id(inner)
        for node in ast.walk(tree)
        if isinstance(node, ast.If) and isinstance(node.test, ast.Name) and node.test.id == "TYPE_CHECKING"
        for inner in ast.walk(node)
    }
    inside = {
        id(inner)
        for node in ast.walk(tree)
        if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef, ast.Lambda))
        for inner in ast.walk(node)
    }
    for node in ast.walk(tree):
        at_top = id(node) not in inside and id(node) not in typing_only
        if isinstance(node, ast.Import):
            for alias in node.names:
                yield alias.name, at_top
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, "imports are absolute"
            yield node.module or "", at_top
            if node.module == "stirfall":
                for alias in node.names:
                    yield f"stirfall.{alias.name}", at_top


def _ours(module: str) -> str | None:
    parts = module.split(".")
    known = {*BELOW} - {"__init__", "__main__"}
    return parts[1] if parts[0] == "stirfall" and len(parts) > 1 and parts[1] in known else None


def test_every_package_stands_on_a_floor(sources: list[Source]) -> None:
    assert {source.floor for source in sources} <= set(BELOW)


def test_no_package_imports_from_its_own_height_or_above(sources: list[Source]) -> None:
    wrong = []
    for source in sources:
        allowed = BELOW[source.floor] | {source.floor}
        for module, at_top in _imports(source.tree):
            floor = _ours(module)
            opens_a_window = floor == "desktop" and source.floor == "cli" and not at_top
            if floor is not None and floor not in allowed and not opens_a_window:
                wrong.append(f"{source.name} imports {module}")
    assert wrong == []


def test_only_the_desktop_imports_qt(sources: list[Source]) -> None:
    wrong = [
        f"{source.name} imports {module}"
        for source in sources
        if source.floor != "desktop"
        for module, _ in _imports(source.tree)
        if module.split(".")[0] in QT
    ]
    assert wrong == []


def test_the_bench_floor_needs_only_the_standard_library_until_a_unit_is_typed(sources: list[Source]) -> None:
    allowed = set(sys.stdlib_module_names) | {"stirfall"}
    wrong = [
        f"{source.name} imports {module}"
        for source in sources
        if source.floor == "bench"
        for module, at_top in _imports(source.tree)
        if module.split(".")[0] not in allowed and (at_top or module.split(".")[0] != "pint")
    ]
    assert wrong == []


def test_only_storage_speaks_sql(sources: list[Source]) -> None:
    wrong = [
        source.name
        for source in sources
        if source.floor != "storage"
        and any(module.split(".")[0] == "sqlite3" for module, _ in _imports(source.tree))
    ]
    assert wrong == []


def _loaded_after(statement: str, watched: tuple[str, ...]) -> list[str]:
    code = f"{statement}\nimport sys, json\nprint(json.dumps([m for m in {watched!r} if m in sys.modules]))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = json.loads(done.stdout.splitlines()[-1])
    assert isinstance(loaded, list)
    return loaded


def test_importing_everything_below_the_desktop_loads_no_qt(sources: list[Source]) -> None:
    modules = [
        "stirfall." + source.name.removesuffix(".py").replace("/", ".").removesuffix(".__init__")
        for source in sources
        if source.floor != "desktop" and source.floor not in ("__init__", "__main__")
    ]
    assert len(modules) > 20
    statement = "\n".join(f"import {module}" for module in modules)
    assert _loaded_after(statement, QT) == []


def test_importing_the_package_is_light() -> None:
    assert _loaded_after("import stirfall", HEAVY) == []


def test_a_factor_can_be_made_without_loading_a_number_library() -> None:
    statement = "import stirfall\nstirfall.Factor('age', unit='h', low=1, high=240, scale='log')"
    assert _loaded_after(statement, HEAVY) == []


def test_help_loads_no_number_library() -> None:
    statement = "from stirfall.cli.main import run\nassert run(['--help']) == 0"
    assert _loaded_after(statement, HEAVY) == []
