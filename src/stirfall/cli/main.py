"""The command ``stirfall``: finds the sub-command, runs it, and turns every user error into one line."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from importlib import import_module

import click

from stirfall import __version__
from stirfall.bench.errors import StirfallError
from stirfall.cli.help_pages import SECTIONS, examples_of
from stirfall.cli.output import complain, prepare_streams

# Name, module and summary: the summaries stand here so that ``--help`` loads no sub-command.
COMMANDS: dict[str, tuple[str, str]] = {
    "demo": ("stirfall.cli.demo", "Open a sample campaign; without a display, do the job as text and files."),
    "open": ("stirfall.cli.open_window", "Open the window, with a session if one is named."),
    "new": ("stirfall.cli.new", "Make a session, empty or from a table of trials."),
    "import": ("stirfall.cli.import_table", "Bring the attempts of a table (CSV, TSV, XLSX) into a session."),
    "odds": ("stirfall.cli.odds", "Say how likely a clean separation is, with its interval."),
    "next": ("stirfall.cli.next_attempts", "Suggest the next attempts, each with its reason."),
    "tonight": ("stirfall.cli.tonight", "Plan this evening: which jars to open, open or wait, what to start."),
    "rehearse": ("stirfall.cli.rehearse", "Play campaigns ahead: attempts and weeks to expect, by each order."),
    "soonest": ("stirfall.cli.soonest", "Say how long until the first clean batch, by the age of the jars."),
    "shelf": ("stirfall.cli.shelf", "Print the shelf: chances now and later, readiness windows, and alarms."),
    "film": ("stirfall.cli.film", "Rank jars by how much oxygen and water reached their metal; compare two."),
    "limits": ("stirfall.cli.limits", "List the limits that hold, with sources; judge conditions or a jar."),
    "proof": ("stirfall.cli.proof", "Plan, start, show or end a proof of one recipe: its count, chance, standing."),
    "drift": ("stirfall.cli.drift", "Say whether something has changed over the attempts, and mark changes."),
    "pool": ("stirfall.cli.pool", "Join the sessions of several benches into one new session."),
    "benches": ("stirfall.cli.benches", "Say whether it holds for others: bench by bench, and for a new one."),
    "compare": ("stirfall.cli.compare", "Say whether two groups of attempts differ by more than chance."),
    "why": ("stirfall.cli.why", "Say which attempts surprised, or why one came out as it did."),
    "rivals": ("stirfall.cli.rivals", "Say what speaks for each rival explanation, and which pair would tell."),
    "recipe": ("stirfall.cli.recipe", "Write the recipe for any batch size; issue it, compare those issued."),
    "report": ("stirfall.cli.report", "Write the lab report as PDF, HTML or Markdown, or the whole bundle as zip."),
    "export": ("stirfall.cli.export", "Write everything as a Data Package: a folder or a zip file of open text."),
    "labels": ("stirfall.cli.labels", "Write labels for jars as PDF, on sheets or one by one."),
    "run": ("stirfall.cli.run_log", "Tell the guided runs: steps, what was reached, every event in its time."),
    "paper": ("stirfall.cli.paper", "Write blank records or the card of acts as PDF."),
    "log": ("stirfall.cli.log", "Keep the file of a temperature logger with an attempt."),
    "agreement": ("stirfall.cli.agreement", "Say how far blind second grades agree with the first."),
    "melt": ("stirfall.cli.melt", "Say what falls, floats, settles and merges in the melt."),
    "weigh": ("stirfall.cli.weigh", "Say what the weighings add up to, with their uncertainty."),
    "assay": ("stirfall.cli.assay", "Work out assay results that you have, with their uncertainty."),
    "check": ("stirfall.cli.check", "Check a session file: integrity, schema, counts."),
    "completion": ("stirfall.cli.completion", "Let the shell fill in commands, options and names."),
}


class LazyGroup(click.Group):
    """A group whose sub-commands are imported when they are called."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002
        """Return the names in the order of the work."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002
        """Import and return one sub-command."""
        if cmd_name not in COMMANDS:
            return None
        command = import_module(COMMANDS[cmd_name][0]).command
        if not isinstance(command, click.Command):
            return None
        command.epilog = examples_of(cmd_name) or None
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002
        """Write the list of sub-commands, in the order of the work, without importing them."""
        for heading, names in SECTIONS.items():
            with formatter.section(heading):
                formatter.write_dl([(name, COMMANDS[name][1]) for name in names if name in COMMANDS], col_max=12)


@click.command(cls=LazyGroup, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, prog_name="stirfall")
def group() -> None:
    """Keep, learn from and plan attempts to part fine solids from a crude metal under oil.

    A session is one file with everything of one campaign in it; the window and this command make it and work on
    it alike. Begin with "stirfall demo", which opens an invented campaign, or with "stirfall open" for the window.
    Each command has a page of its own: "stirfall odds --help". Exit codes: 0 for done, 1 for findings, 2 when the
    request or a file cannot be used.
    """


def run(arguments: Sequence[str]) -> int:
    """Run one command line and return its exit code; user errors become one line on standard error."""
    prepare_streams()
    try:
        result = group.main(args=list(arguments), prog_name="stirfall", standalone_mode=False)
    except click.exceptions.NoArgsIsHelpError as error:
        click.echo(error.format_message())
        return 0
    except click.Abort:
        complain("Stopped.")
        return 2
    except click.ClickException as error:
        complain(" ".join(error.format_message().split()))
        return 2
    except StirfallError as error:
        from stirfall.reporting.sentences import error_sentence

        complain(error_sentence(error))
        # That the operating limits allow nothing is a finding about the campaign, not a fault of the request.
        return 1 if error.code.startswith("limits.") else 2
    except BrokenPipeError:
        # The reader of a pipe, such as ``head``, has seen enough; nothing is left to flush to it.
        sys.stdout = None
        return 0
    except OSError as error:
        complain(f"{error.strerror or 'A file cannot be used'}: {error.filename or ''}".rstrip(": "))
        return 2
    except Exception as error:
        return _report_bug(error)
    return result if isinstance(result, int) else 0


def _report_bug(error: Exception) -> int:
    """Keep the trace in a file of the temporary folder and say where; the session on disk is as it was."""
    import tempfile
    import traceback

    with tempfile.NamedTemporaryFile(
        "w", encoding="utf-8", prefix="stirfall-error-", suffix=".txt", delete=False
    ) as kept:
        kept.write("".join(traceback.format_exception(error)))
    complain(
        f"Stirfall made a mistake ({type(error).__name__}). What was recorded is safe. "
        f"Please report it with the file {kept.name}."
    )
    return 2


def main() -> None:
    """Run the command line of this process and leave with its exit code."""
    sys.exit(run(sys.argv[1:]))
