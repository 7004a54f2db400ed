"""Help that a stranger understands: each command stands in one section, and its examples can be typed."""

from __future__ import annotations

import os
import shlex
import subprocess
import sys
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from stirfall.bench.factors import Factor
from stirfall.bench.records import CampaignSettings
from stirfall.cli.completion import SHELLS
from stirfall.cli.help_pages import EXAMPLES, SECTIONS
from stirfall.cli.main import COMMANDS, group
from stirfall.session.document import Document


def test_every_command_stands_in_one_section_with_examples() -> None:
    listed = [name for names in SECTIONS.values() for name in names]
    assert sorted(listed) == sorted(COMMANDS)
    assert sorted(EXAMPLES) == sorted(COMMANDS)


def test_the_first_page_tells_where_to_begin() -> None:
    text = CliRunner().invoke(group, ["--help"]).output
    places = [text.index(f"{heading}:") for heading in SECTIONS]
    assert places == sorted(places)
    assert "stirfall demo" in text
    assert "--help" in text


@pytest.mark.parametrize("name", sorted(EXAMPLES))
def test_examples_can_be_typed(name: str) -> None:
    """Each example is read by the parser of its command; files that it names need not be there."""
    command = group.get_command(click.Context(group), name)
    assert command is not None
    page = CliRunner().invoke(group, [name, "--help"]).output
    assert command.help
    for example in EXAMPLES[name]:
        assert example in page
        words = shlex.split(example.split(" >> ")[0])
        assert words[:2] == ["stirfall", name]
        if "--help" in words:
            continue
        context = click.Context(command, info_name=name)
        rest = command.parse_args(context, words[2:])
        assert rest == []
        known = {option for param in command.params for option in param.opts}
        assert {word for word in words[2:] if word.startswith("--")} <= known


@pytest.mark.parametrize("shell", SHELLS)
def test_a_shell_gets_its_lines(shell: str) -> None:
    result = CliRunner().invoke(group, ["completion", shell])
    assert result.exit_code == 0
    assert f"_STIRFALL_COMPLETE={shell}_complete" in result.output
    assert "%(" not in result.output


def _completed(words: str, current: int, shell: str = "bash") -> list[str]:
    environment = os.environ | {
        "_STIRFALL_COMPLETE": f"{shell}_complete",
        "COMP_WORDS": words,
        "COMP_CWORD": str(current),
    }
    done = subprocess.run(
        [sys.executable, "-m", "stirfall"], env=environment, capture_output=True, text=True, check=False, timeout=60
    )
    assert done.stderr == ""
    return [line.split(",", 1)[1] for line in done.stdout.splitlines() if line]


def test_tab_fills_in_commands_and_the_factors_of_the_session(tmp_path: Path) -> None:
    assert _completed("stirfall reh", 1) == ["rehearse"]
    path = tmp_path / "trial.stirfall"
    factors = (Factor("sample age", "h", 1.0, 96.0), Factor("bath", "C", 140.0, 170.0))
    Document.create(path, CampaignSettings(), factors).close()
    assert _completed(f"stirfall odds {path} --at sa", 4) == ["sample\\ age="]
    assert _completed(f"stirfall odds {tmp_path / 'none'} --at sa", 4) == []
