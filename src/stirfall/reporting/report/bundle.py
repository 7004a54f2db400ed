"""The publication bundle: report, figures, recipe, photos and the data in one zip file that imports again."""

from __future__ import annotations

import hashlib
import json
import zipfile
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from stirfall.bench.cancel import CancelToken
from stirfall.bench.errors import FileTroubleError
from stirfall.bench.records import INVENTED_NOTICE
from stirfall.reporting.json_form import recipe_json
from stirfall.reporting.markdown import render_markdown
from stirfall.reporting.report.html import report_html
from stirfall.reporting.report.markdown import figure_path, picture_files, report_markdown, text_markdown
from stirfall.reporting.report.telling import moment_words
from stirfall.reporting.report.tree import Report
from stirfall.reporting.sentences import sentence
from stirfall.storage.copies import replacing
from stirfall.storage.package_zip import write_package_zip

if TYPE_CHECKING:
    from stirfall.storage.package_content import PackageContent

CHECKSUMS, README = "checksums.sha256", "README.md"
# The earliest moment that a zip file can hold (PKWARE APPNOTE 4.4.6): the same content gives the same bytes.
_FIRST_MOMENT = (1980, 1, 1, 0, 0, 0)
_READABLE = 0o100644 << 16
_UNIX = 3
_CHUNK = 1 << 20


@dataclass(frozen=True)
class Printed:
    """What Qt has drawn: the report as PDF, and the recipe, one PDF per sheet by its name."""

    report: bytes
    recipe: Mapping[str, bytes]


def bundle_files(
    report: Report, printed: Printed, *, decimal: str = ".", token: CancelToken | None = None
) -> dict[str, bytes]:
    """Return what stands beside the tables of the data, by its place in the bundle. Raises Cancelled."""
    files = {
        "report.html": report_html(report, token=token).encode(),
        "report.md": report_markdown(report, token=token).encode(),
        "report.pdf": printed.report,
        **picture_files(report, token=token),
    }
    for block in report.figures:
        if token is not None:
            token.raise_if_cancelled()
        files[figure_path(block, ".png")] = block.figure.png(300)
    if report.recipe is not None:
        document = json.dumps(recipe_json(report.recipe), indent=2, ensure_ascii=False) + "\n"
        files["recipe.md"] = render_markdown(report.recipe, decimal=decimal).encode()
        files["recipe.json"] = document.encode()
        files |= dict(printed.recipe)
    files[README] = readme(report, files).encode()
    return files


def write_bundle(
    path: Path,
    content: PackageContent,
    files: Mapping[str, bytes],
    *,
    photos: tuple[str, ...] = (),
    token: CancelToken | None = None,
) -> dict[str, str]:
    """Write the bundle whole or not at all and return the SHA-256 of each file in it by its name.

    ``content`` is the campaign with its corrections, logs and photos, of which those with the ids ``photos`` go in.
    Raises OSError and what writing a package raises.
    """
    # Readers of Data Packages take JSON that they find there for a part of the descriptor: it is not listed in it.
    unlisted = {name: data for name, data in files.items() if name.endswith(".json")}
    listed = {name: data for name, data in files.items() if name not in unlisted}
    with replacing(path) as part:
        try:
            write_package_zip(content, part, photos=photos, originals=False, extra=listed)
        except FileTroubleError as error:  # say the name that was chosen, not that of the part
            if isinstance(error.__cause__, OSError):
                raise error.__cause__ from error
            raise
        if token is not None:
            token.raise_if_cancelled()
        _append(part, unlisted)
        sums = _sums(part)
        text = "".join(f"{digest}  {name}\n" for name, digest in sorted(sums.items()))
        _append(part, {CHECKSUMS: text.encode()})
    return sums


def _append(path: Path, files: Mapping[str, bytes]) -> None:
    with zipfile.ZipFile(path, "a") as bundle:
        for name, data in files.items():
            member = zipfile.ZipInfo(name, _FIRST_MOMENT)
            member.compress_type = zipfile.ZIP_DEFLATED
            member.external_attr, member.create_system = _READABLE, _UNIX
            bundle.writestr(member, data)


def _sums(path: Path) -> dict[str, str]:
    sums = {}
    with zipfile.ZipFile(path) as bundle:
        for name in bundle.namelist():
            digest = hashlib.sha256()
            with bundle.open(name) as member:
                while chunk := member.read(_CHUNK):
                    digest.update(chunk)
            sums[name] = digest.hexdigest()
    return sums


_TOLD = (
    ("report.html", "report.bundle_html"),
    ("report.pdf", "report.bundle_pdf"),
    ("report.md", "report.bundle_md"),
    ("figures/", "report.bundle_figures"),
    ("chosen-photos/", "report.bundle_photos"),
    ("recipe.md", "report.bundle_recipe_md"),
    ("recipe.json", "report.bundle_recipe_json"),
    ("recipe.pdf", "report.bundle_recipe_pdf"),
    ("recipe-bench.pdf", "report.bundle_recipe_bench"),
)


def readme(report: Report, files: Mapping[str, bytes]) -> str:
    """Return what each file of the bundle is, how it is checked and how it comes back into the program."""
    headline = sentence("report.bundle_title", {"title": text_markdown(report.title)})
    lines = [f"# {headline}", ""]
    if report.invented:
        what = sentence("report.invented")
        lines += [f"**{INVENTED_NOTICE}. {what}**", ""]
    made = {"made": moment_words(report.created_at), "version": report.program_version}
    lines += [sentence("report.bundle_made", {**made, "fingerprint": report.fingerprint}), ""]
    there = [(start, code) for start, code in _TOLD if any(name.startswith(start) for name in files)]
    lines += [f"- `{start}`: {sentence(code)}" for start, code in there]
    lines += [] if report.recipe is not None else ["- " + sentence("report.bundle_no_recipe")]
    lines.append("- `datapackage.json`, `*.csv`: " + sentence("report.bundle_data"))
    lines.append(f"- `{CHECKSUMS}`: " + sentence("report.bundle_sums", {"name": CHECKSUMS}))
    return "\n".join([*lines, "", sentence("report.bundle_back"), "", sentence("report.bundle_licence"), ""])
