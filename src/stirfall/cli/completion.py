"""``stirfall completion``: what lets a shell fill in commands, options, files and the names of factors."""

from __future__ import annotations

import click
from click.shell_completion import get_completion_class

from stirfall.cli.output import say

SHELLS = ("bash", "zsh", "fish")


@click.command("completion")
@click.argument("shell", metavar="[bash|zsh|fish]", type=click.Choice(SHELLS))
def command(shell: str) -> int:
    """Print the lines that let a shell fill in what you begin to type with the key Tab.

    Add them to what your shell reads when it starts (bash: ~/.bashrc, zsh: ~/.zshrc, fish: a file in
    ~/.config/fish/completions), then open a new terminal.
    """
    from stirfall.cli.main import group

    kind = get_completion_class(shell)
    if kind is None:  # click knows these three
        raise LookupError(shell)
    made = kind(group, {}, "stirfall", "_STIRFALL_COMPLETE")
    say((made.source_template % made.source_vars()).strip())
    return 0
