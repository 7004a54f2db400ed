"""The publication bundle: whole or not at all, checked by its sums, a Data Package that comes back the same."""

from __future__ import annotations

import hashlib
import json
import shutil
import subprocess
import zipfile
from dataclasses import replace
from pathlib import Path

import pytest
from report_sources import MADE, PEOPLE, dross, source_from, with_people

from stirfall.bench.cancel import Cancelled, CancelToken
from stirfall.bench.errors import FileTroubleError, InputError
from stirfall.bench.records import INVENTED_NOTICE
from stirfall.reporting.figures import figures_of
from stirfall.reporting.report.bundle import CHECKSUMS, Printed, bundle_files, write_bundle
from stirfall.reporting.report.lab_report import lab_report
from stirfall.reporting.report.tree import PhotoBlock, Report
from stirfall.reporting.report.writing import Order, write_report
from stirfall.session.analysis import Analysis
from stirfall.storage.edits import StoredPhoto
from stirfall.storage.fingerprint import fingerprint
from stirfall.storage.package_content import PackageContent
from stirfall.storage.package_zip import read_package_zip

PICTURE = b"\xff\xd8\xff\xe0 no real picture"
PRINTED = Printed(b"%PDF-1.4 report", {"recipe.pdf": b"%PDF-1.4 recipe"})


class NoPrinter:
    """Draws nothing: what Qt draws is tested with the window."""

    def report(self, report: Report, *, paper: str, token: CancelToken | None) -> bytes:
        return PRINTED.report

    def recipe(self, recipe: object, *, decimal: str, paper: str) -> dict[str, bytes]:
        return dict(PRINTED.recipe)


@pytest.fixture(scope="module")
def content() -> PackageContent:
    plain = dross()
    state = with_people(plain.state)
    photos = tuple(
        (f"photo-{place}", StoredPhoto(state.attempts[place].id, f"{place}.jpg", "image/jpeg", MADE, PICTURE))
        for place in range(2)
    )
    return replace(plain, state=state, bulky=photos)


@pytest.fixture(scope="module")
def report(content: PackageContent, analysis: Analysis) -> Report:
    source = source_from(content, content.state)
    made = lab_report(source, replace(analysis, state=content.state), figures=figures_of(analysis)[:1])
    return replace(made, blocks=(*made.blocks, PhotoBlock(1, "nothing parted", "0.jpg", "image/jpeg", PICTURE, 1)))


@pytest.fixture(scope="module")
def nameless(content: PackageContent) -> PackageContent:
    source = source_from(content, content.state)
    return replace(content, state=source.state, corrections=source.corrections)


@pytest.fixture(scope="module")
def files(report: Report) -> dict[str, bytes]:
    return bundle_files(report, PRINTED)


@pytest.fixture
def bundle(tmp_path: Path, nameless: PackageContent, files: dict[str, bytes]) -> Path:
    path = tmp_path / "trial-bundle.zip"
    write_bundle(path, nameless, files, photos=("photo-0",))
    return path


def test_it_holds_the_report_in_all_forms_with_figures_recipe_photos_and_data(bundle: Path) -> None:
    names = zipfile.ZipFile(bundle).namelist()
    assert {
        "README.md",
        "report.html",
        "report.md",
        "report.pdf",
        "recipe.md",
        "recipe.json",
        "recipe.pdf",
        "figures/01-chance.svg",
        "figures/01-chance.png",
        "chosen-photos/01-attempt-1.jpg",
        "datapackage.json",
        "attempts.csv",
        CHECKSUMS,
    } <= set(names)
    assert len(names) == len(set(names))
    assert zipfile.ZipFile(bundle).testzip() is None


def test_figures_are_drawn_at_300_dots_per_inch(files: dict[str, bytes]) -> None:
    data = files["figures/01-chance.png"]
    # PNG, third edition, 11.3.4.3: pHYs holds dots per metre; 300 per inch are 11811 (1 inch is 0.0254 m).
    place = data.index(b"pHYs") + 4
    assert int.from_bytes(data[place : place + 4]) == 11811


def test_each_file_has_its_sum(bundle: Path) -> None:
    archive = zipfile.ZipFile(bundle)
    lines = archive.read(CHECKSUMS).decode().splitlines()
    told = {line[66:]: line[:64] for line in lines}
    assert set(told) == set(archive.namelist()) - {CHECKSUMS}
    for name, digest in told.items():
        assert hashlib.sha256(archive.read(name)).hexdigest() == digest


@pytest.mark.skipif(shutil.which("sha256sum") is None, reason="the tool of GNU coreutils is not there")
def test_the_sums_are_those_of_another_program(bundle: Path, tmp_path: Path) -> None:
    folder = tmp_path / "unpacked"
    zipfile.ZipFile(bundle).extractall(folder)
    checked = subprocess.run(["sha256sum", "-c", CHECKSUMS], cwd=folder, capture_output=True, check=False)
    assert checked.returncode == 0, checked.stdout


def test_it_is_a_data_package_that_another_program_reads_without_complaint(bundle: Path, tmp_path: Path) -> None:
    # frictionless checks Data Package and Table Schema of datapackage.org.
    from frictionless import Package

    folder = tmp_path / "unpacked"
    zipfile.ZipFile(bundle).extractall(folder)
    found = Package(str(folder / "datapackage.json")).validate()
    assert found.valid, found.flatten(["name", "type", "note"])


def test_the_data_come_back_the_same(bundle: Path, nameless: PackageContent) -> None:
    again = read_package_zip(bundle)
    assert again.state == nameless.state
    assert again.corrections == nameless.corrections
    assert fingerprint(again.state) == fingerprint(nameless.state)
    assert [record_id for record_id, _ in again.bulky] == ["photo-0"]


def test_no_name_of_an_operator_is_left_anywhere(bundle: Path) -> None:
    archive = zipfile.ZipFile(bundle)
    for name in archive.namelist():
        if name.endswith((".csv", ".md", ".html", ".json", ".svg")):
            text = archive.read(name).decode()
            assert PEOPLE[0] not in text, name
            assert f"{PEOPLE[1]} helped" not in text, name
    assert read_package_zip(bundle).state.attempts[1].facts.operator == "B"


def test_the_readme_says_what_is_what(bundle: Path, report: Report) -> None:
    text = zipfile.ZipFile(bundle).read("README.md").decode()
    assert INVENTED_NOTICE in text
    assert report.fingerprint in text
    assert report.program_version in text
    for name in (
        "report.html",
        "report.pdf",
        "report.md",
        "figures/",
        "chosen-photos/",
        "datapackage.json",
        CHECKSUMS,
    ):
        assert f"`{name}`" in text
    without = bundle_files(replace(report, recipe=None), Printed(b"", {}))
    assert "recipe.json" not in without
    assert "There is no recipe" in without["README.md"].decode()


def test_the_recipe_in_it_is_the_one_of_the_report(files: dict[str, bytes], report: Report) -> None:
    assert report.recipe is not None
    document = json.loads(files["recipe.json"])
    assert document["session"]["fingerprint"] == report.fingerprint
    assert [each["name"] for each in document["conditions"]] == [each.name for each in report.recipe.values]


def test_the_same_report_gives_the_same_bytes(
    tmp_path: Path, nameless: PackageContent, files: dict[str, bytes], bundle: Path
) -> None:
    again = tmp_path / "again.zip"
    write_bundle(again, nameless, files, photos=("photo-0",))
    assert again.read_bytes() == bundle.read_bytes()


def test_what_was_there_stays_until_the_new_one_is_whole(
    tmp_path: Path, nameless: PackageContent, files: dict[str, bytes]
) -> None:
    path = tmp_path / "trial.zip"
    path.write_bytes(b"older")
    token = CancelToken()
    token.cancel()
    with pytest.raises(Cancelled):
        write_bundle(path, nameless, files, token=token)
    assert path.read_bytes() == b"older"
    with pytest.raises(InputError):
        write_bundle(path, nameless, {**files, "../escape.txt": b""})
    assert path.read_bytes() == b"older"
    assert [each.name for each in tmp_path.iterdir()] == ["trial.zip"]


# ------------------------------------------------------------------------------------------------------- as ordered


def test_markdown_is_written_with_its_pictures_beside_it(tmp_path: Path, report: Report) -> None:
    written = write_report(report, Order(tmp_path / "my report.md"), NoPrinter())
    assert set(written.files) == {
        "my report.md",
        "my report-files/figures/01-chance.svg",
        "my report-files/chosen-photos/01-attempt-1.jpg",
    }
    for name, digest in written.files.items():
        assert hashlib.sha256((tmp_path / name).read_bytes()).hexdigest() == digest
    assert "(my%20report-files/figures/01-chance.svg)" in (tmp_path / "my report.md").read_text(encoding="utf-8")


def test_the_suffix_and_the_paper_are_checked_before_anything_is_done(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"report\.suffix"):
        Order(tmp_path / "report.doc")
    with pytest.raises(InputError, match=r"report\.paper"):
        Order(tmp_path / "report.pdf", paper="a3")


def test_a_place_that_cannot_be_written_is_told(tmp_path: Path, report: Report) -> None:
    blocked = tmp_path / "file"
    blocked.write_bytes(b"")
    with pytest.raises(FileTroubleError, match=r"report\.not_written"):
        write_report(report, Order(blocked / "report.html"), NoPrinter())


def test_a_bundle_that_cannot_be_written_is_told_by_the_name_that_was_chosen(
    tmp_path: Path, content: PackageContent, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_given: object, **_named: object) -> None:
        raise FileTroubleError("package.cannot_write", path=".b.zip.1234.part") from OSError(28, "No space left")

    monkeypatch.setattr("stirfall.reporting.report.bundle.write_package_zip", full)
    with pytest.raises(OSError, match="No space left"):
        write_bundle(tmp_path / "b.zip", content, {})
    assert list(tmp_path.iterdir()) == []
