"""What a person can type or set is described in the guide; README and the checks of the checkout agree."""

from __future__ import annotations

import re
import tomllib
from importlib import import_module
from pathlib import Path

import click
import pytest

from stirfall.cli.main import COMMANDS
from stirfall.session.settings import describe_settings


@pytest.fixture(scope="module")
def guide(root: Path) -> str:
    """Return all pages of the guide as one text."""
    pages = sorted((root / "resources" / "guide").glob("*.md"))
    assert pages
    return "\n".join(page.read_text(encoding="utf-8") for page in pages)


def _command(name: str) -> click.Command:
    command = import_module(COMMANDS[name][0]).command
    assert isinstance(command, click.Command)
    return command


@pytest.mark.parametrize("name", COMMANDS)
def test_each_command_and_each_of_its_options_is_in_the_guide(name: str, guide: str) -> None:
    section = guide[guide.index(f"## stirfall {name}") :].removeprefix("## ").split("\n## ", 1)[0]
    options = [
        option
        for parameter in _command(name).params
        if isinstance(parameter, click.Option)
        for option in parameter.opts
        if option.startswith("--") and option != "--help"
    ]
    assert [option for option in options if f"{option}" not in section] == []


def test_each_json_document_is_described_in_the_guide(guide: str, root: Path) -> None:
    schemas = {
        schema
        for path in (root / "src" / "stirfall").rglob("*.py")
        for schema in re.findall(r"\bstirfall\.[a-z_-]+/\d+\b", path.read_text(encoding="utf-8"))
    }
    assert len(schemas) >= 3
    assert [schema for schema in sorted(schemas) if schema not in guide] == []


def test_each_setting_of_the_program_is_in_the_guide(guide: str) -> None:
    settings = describe_settings()
    assert settings
    assert [name for name in settings if f"`{name}`" not in guide] == []


def test_each_page_of_the_guide_has_a_title_and_links_that_lead_somewhere(root: Path) -> None:
    folder = root / "resources" / "guide"
    wrong = []
    for page in folder.glob("*.md"):
        text = page.read_text(encoding="utf-8")
        if not text.startswith("# "):
            wrong.append(f"{page.name}: no title")
        targets = re.findall(r"\]\(([^)#:]+)\)", text)
        wrong += [f"{page.name}: {target}" for target in targets if not (folder / target).exists()]
    assert wrong == []


def _readme_commands(root: Path) -> list[str]:
    """Return the lines of the first two code blocks of README."""
    readme = (root / "README.md").read_text(encoding="utf-8")
    return [block.strip() for block in re.findall(r"```(?:sh|bash)\n(.*?)```", readme, flags=re.DOTALL)[:2]]


def test_readme_opens_with_the_job_and_then_two_commands_of_one_line_each(root: Path) -> None:
    commands = _readme_commands(root)
    assert len(commands) == 2
    assert all("\n" not in command for command in commands)
    assert commands[0].endswith("stirfall demo")
    assert "pytest" in commands[1]
    opening = (root / "README.md").read_text(encoding="utf-8").split("\n\n")[1]
    assert not opening.startswith(("#", "`", "!"))


def test_the_check_of_the_checkout_runs_the_test_command_of_readme(root: Path) -> None:
    script = (root / ".ci" / "run").read_text(encoding="utf-8")
    test_command = _readme_commands(root)[1]
    assert test_command in script
    for step in ("ruff check", "ruff format --check", "mypy", "QT_QPA_PLATFORM=offscreen", "set -eu"):
        assert step in script


def test_readme_keeps_its_parts_and_its_pictures(root: Path) -> None:
    readme = (root / "README.md").read_text(encoding="utf-8")
    for heading in ("## Tour", "## Scope", "## Cautions", "## Changes"):
        assert heading in readme
    targets = re.findall(r"\]\(([^)#:]+)\)", readme)
    assert [target for target in targets if not (root / target).exists()] == []


def test_the_version_is_told_once_in_each_place(root: Path) -> None:
    import stirfall

    project = tomllib.loads((root / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert project["version"] == stirfall.__version__
    assert f"### {stirfall.__version__}" in (root / "README.md").read_text(encoding="utf-8")
