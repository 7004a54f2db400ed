"""``stirfall export``: everything of a session as a Data Package, a folder or a zip file."""

from __future__ import annotations

from pathlib import Path

import click

from stirfall.cli.output import say, say_json
from stirfall.cli.session_arguments import json_option, open_to_read, session_argument


@click.command("export")
@session_argument
@click.option(
    "--out", metavar="PLACE", type=click.Path(path_type=Path), required=True, help="A name in .zip, or a folder."
)
@click.option("--photos", metavar="WHICH", default="all", help="all, none, or attempts by number: 3,7,10-14.")
@click.option("--originals", is_flag=True, help="Also the originals of photos, where they were kept.")
@json_option
def command(session: Path, *, out: Path, photos: str, originals: bool, as_json: bool) -> int:
    """Write everything of a session as open text that any tool can read and that comes back without loss.

    PLACE is a zip file (its name ends in .zip) or a folder, which must be empty, new, or an older package. The
    way back: stirfall new NEW --package PLACE.
    """
    from stirfall.reporting.package_words import written_json, written_lines
    from stirfall.session.packages import chosen_photos, export_package

    with open_to_read(session) as document:
        written = export_package(document, out, photos=chosen_photos(document, photos), originals=originals)
    if as_json:
        say_json(written_json(written, out))
    else:
        for line in written_lines(written, out):
            say(line)
    return 0
