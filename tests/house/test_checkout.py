"""The checkout holds what it may hold, and says nothing that does not belong in it."""

from __future__ import annotations

import re
from pathlib import Path

from house_source import ROOT, Source

TOP = {"README.md", "DEVELOPERS.md", "pyproject.toml", "src", "tests", "resources", "sample_sessions"}
TEXT = {".py", ".md", ".toml", ".json", ".csv", ".svg", ".txt", ".yaml", ".yml", "", ".cfg"}
LARGEST = 1_500_000
HEX_COLOUR = re.compile(r"""["']#[0-9a-fA-F]{3}(?:[0-9a-fA-F]{3}(?:[0-9a-fA-F]{2})?)?["']""")
# Written in two halves, so that this list does not find itself.
FORBIDDEN = [
    "trans" + "cript",
    "you" + "tube",
    "vi" + "deo",
    "TRADE" + ".md",
    "HOUSE" + ".md",
    "STYLE" + ".md",
    "REFERENCES" + ".md",
    "contract" + ".md",
    ".." + "/shared",
    "py" + "pi.org",
    "github" + ".com/",
]


def test_the_top_level_holds_only_what_it_may(checkout: list[Path]) -> None:
    top = {path.relative_to(ROOT).parts[0] for path in checkout}
    assert {name for name in top if not name.startswith(".")} == TOP


def test_the_checks_can_be_run(checkout: list[Path]) -> None:
    script = ROOT / ".ci" / "run"
    assert script in checkout
    assert script.stat().st_mode & 0o111
    assert script.read_text(encoding="utf-8").startswith("#!")


def test_no_file_is_large(checkout: list[Path]) -> None:
    assert [path.name for path in checkout if path.stat().st_size > LARGEST] == []


def test_every_python_file_is_annotated_lazily(sources: list[Source]) -> None:
    late = "from __future__ import annotations"
    filled = [source for source in sources if source.path.name != "__init__.py"]
    assert [source.name for source in filled if late not in source.text] == []


def test_colours_are_written_in_the_theme_and_as_ink_only(sources: list[Source]) -> None:
    wrong = [
        f"{source.name}: {match.group()}"
        for source in sources
        if source.name not in ("desktop/theme.py", "reporting/ink.py")
        for match in HEX_COLOUR.finditer(source.text)
    ]
    assert wrong == []


def test_messages_to_the_user_go_through_one_place(sources: list[Source]) -> None:
    assert [source.name for source in sources if re.search(r"\bQMessageBox\b", source.text)] == []
    assert [
        source.name for source in sources if re.search(r"\.exec\(\)", source.text) and "app" not in source.name
    ] == []


def test_no_word_stands_in_the_checkout_that_does_not_belong_there(checkout: list[Path]) -> None:
    pattern = re.compile("|".join(re.escape(word) for word in FORBIDDEN), re.IGNORECASE)
    found = []
    for path in checkout:
        if pattern.search(path.relative_to(ROOT).as_posix()):
            found.append(str(path))
        if path.suffix not in TEXT:
            continue
        for number, line in enumerate(path.read_text(encoding="utf-8", errors="replace").splitlines(), 1):
            if pattern.search(line):
                found.append(f"{path.relative_to(ROOT)}:{number}: {line.strip()[:100]}")
    assert found == []


def test_names_of_test_files_are_unique(checkout: list[Path]) -> None:
    names = [path.name for path in checkout if path.name.startswith("test_") and path.suffix == ".py"]
    assert sorted(names) == sorted(set(names))
