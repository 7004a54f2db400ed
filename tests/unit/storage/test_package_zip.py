"""Packages as zip files: always the same bytes, whole or not there, and described for other tools to check."""

from __future__ import annotations

import csv
import hashlib
import io
import json
import stat
import zipfile
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import jsonschema
import pytest
from malformed_packages import NOON, good_content

from stirfall.bench.errors import FileTroubleError, InputError, StirfallError
from stirfall.storage import package_limits as limits
from stirfall.storage.bulky import LazyBulky
from stirfall.storage.csv_fields import long_fields
from stirfall.storage.edits import StoredPhoto
from stirfall.storage.package import LeftOut, PackageContent, PackageFacts, read_package, write_package_folder
from stirfall.storage.package_zip import read_any_package, read_package_zip, write_package_zip

ROOT = Path(__file__).parents[3]
EXTRA = {"report.html": b"<!doctype html>", "figures/odds.svg": b"<svg/>", "recipe.json": b"{}"}


@pytest.fixture
def content() -> PackageContent:
    """Return a content with a second photo, without an original, and words about its origin."""
    small = good_content()
    photo = StoredPhoto("a2", "=beads.png", "image/png", NOON, b"\x89PNGbeads")
    facts = PackageFacts(NOON, "north, Small", "Stirfall 0.1.0", ("CC0-1.0",), LeftOut(undone=2))
    return replace(small, bulky=(small.bulky[0], ("f2", photo), *small.bulky[1:]), facts=facts)


def descriptor(path: Path) -> dict[str, object]:
    """Return the descriptor of a zip file."""
    with zipfile.ZipFile(path) as file:
        told: dict[str, object] = json.loads(file.read("datapackage.json"))
    return told


def test_the_same_content_gives_the_same_bytes_with_nothing_of_clock_or_computer(
    content: PackageContent, tmp_path: Path
) -> None:
    for name in ("one.zip", "two.zip"):
        write_package_zip(content, tmp_path / name, extra=EXTRA)
    assert (tmp_path / "one.zip").read_bytes() == (tmp_path / "two.zip").read_bytes()
    with zipfile.ZipFile(tmp_path / "one.zip") as file:
        assert file.testzip() is None
        names = file.namelist()
        assert names[-1] == "datapackage.json"
        assert {info.date_time for info in file.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        assert {info.create_system for info in file.infolist()} == {3}
        assert {stat.S_IFMT(info.external_attr >> 16) for info in file.infolist()} == {stat.S_IFREG}
        packed = {info.filename: info.compress_type for info in file.infolist()}
        assert packed["attempts.csv"] == zipfile.ZIP_DEFLATED
        assert packed["photos/attempt-001-1.jpg"] == zipfile.ZIP_STORED
        for name, data in EXTRA.items():
            assert file.read(name) == data
    assert [path.name for path in tmp_path.iterdir() if path.suffix != ".zip"] == []


def test_a_zip_file_and_a_folder_hold_the_same_files(content: PackageContent, tmp_path: Path) -> None:
    in_zip = write_package_zip(content, tmp_path / "p.zip", extra=EXTRA)
    in_folder = write_package_folder(content, tmp_path / "p", extra=EXTRA)
    assert in_zip == in_folder
    with zipfile.ZipFile(tmp_path / "p.zip") as file:
        for name in file.namelist():
            assert (tmp_path / "p" / name).read_bytes() == file.read(name)
        assert in_zip.size == sum(info.file_size for info in file.infolist())
    assert in_zip.rows["photos"] == 2
    assert read_any_package(tmp_path / "p.zip") == read_any_package(tmp_path / "p") == content


@pytest.mark.parametrize(
    ("photos", "originals", "kept", "left_out"),
    [
        ("all", True, ["f1", "f2"], LeftOut(undone=2)),
        ("all", False, ["f1", "f2"], LeftOut(originals=1, undone=2)),
        ("none", True, [], LeftOut(photos=2, undone=2)),
        (("f2",), True, ["f2"], LeftOut(photos=1, undone=2)),
        ((), True, [], LeftOut(photos=2, undone=2)),
    ],
)
def test_the_chosen_photos_go_in_and_the_descriptor_says_what_is_left_out(
    content: PackageContent,
    tmp_path: Path,
    photos: str,
    originals: bool,
    kept: list[str],
    left_out: LeftOut,
) -> None:
    written = write_package_zip(content, tmp_path / "p.zip", photos=photos, originals=originals)  # type: ignore[arg-type]
    back = read_package_zip(tmp_path / "p.zip")
    found = {key: record for key, record in back.bulky if isinstance(record, StoredPhoto)}
    assert list(found) == kept
    assert back.facts.left_out == written.left_out == left_out
    given = {key: record for key, record in content.bulky if isinstance(record, StoredPhoto)}
    assert all(record.data == given[key].data for key, record in found.items())
    assert all(bool(record.original) is (originals and key == "f1") for key, record in found.items())
    assert back.state == content.state


def test_photos_are_loaded_one_by_one_when_they_are_asked_for(content: PackageContent, tmp_path: Path) -> None:
    write_package_zip(content, tmp_path / "p.zip")
    back = read_package_zip(tmp_path / "p.zip")
    assert isinstance(back.bulky, LazyBulky)
    assert [item.subject for item in back.bulky.items] == ["a1", "a2", "clean separation", "a1"]
    assert back.bulky[1] == ("f2", dict(content.bulky)["f2"])
    assert len(back.bulky[:2]) == 2
    (tmp_path / "p.zip").unlink()
    with pytest.raises(FileTroubleError) as caught:
        back.bulky[0]
    assert caught.value.code == "package.missing_file"


def test_what_cannot_be_written_leaves_what_was_there(content: PackageContent, tmp_path: Path) -> None:
    write_package_zip(content, tmp_path / "p.zip")
    before = (tmp_path / "p.zip").read_bytes()

    class Failing(list):  # type: ignore[type-arg]
        def __iter__(self) -> Iterator[object]:
            raise OSError(28, "No space left on device")

    bad = replace(content, bulky=Failing([("f", None)]))
    with pytest.raises(FileTroubleError) as caught:
        write_package_zip(bad, tmp_path / "p.zip")
    assert caught.value.code == "package.cannot_write"
    (tmp_path / "folder").mkdir()
    with pytest.raises(FileTroubleError) as caught:
        write_package_zip(content, tmp_path / "folder")
    assert caught.value.code == "package.is_folder"
    assert (tmp_path / "p.zip").read_bytes() == before
    assert sorted(path.name for path in tmp_path.iterdir()) == ["folder", "p.zip"]


@pytest.mark.parametrize(
    ("name", "code"),
    [
        ("../report.html", "package.unsafe_name"),
        ("a\\b", "package.unsafe_name"),
        ("", "package.unsafe_name"),
        ("Attempts.csv", "package.name_taken"),
        ("photos/x.jpg", "package.name_taken"),
        ("report.html/x", "package.name_taken"),
    ],
)
def test_files_beside_have_names_of_their_own(
    content: PackageContent, tmp_path: Path, name: str, code: str
) -> None:
    with pytest.raises(InputError) as caught:
        write_package_zip(content, tmp_path / "p.zip", extra={"report.html": b"", name: b""})
    assert caught.value.code == code
    assert list(tmp_path.iterdir()) == []


def test_what_no_text_file_holds_is_refused(content: PackageContent, tmp_path: Path) -> None:
    lone = replace(content, state=replace(content.state, settings=replace(content.state.settings, oil="\ud800")))
    long = replace(content, state=replace(content.state, lots=(replace(content.state.lots[0], id="x" * 2000),)))
    for bad, code in ((lone, "package.not_text"), (long, "package.long_id")):
        with pytest.raises(InputError) as caught:
            write_package_zip(bad, tmp_path / "p.zip")
        assert caught.value.code == code


@pytest.mark.parametrize(("limit", "most"), [("MOST_ROWS", 10), ("MOST_READINGS", 1), ("MOST_TABLE", 2000)])
def test_what_could_not_be_read_again_is_not_written(
    content: PackageContent, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, limit: str, most: int
) -> None:
    write_package_zip(content, tmp_path / "p.zip")
    monkeypatch.setattr(limits, limit, most)
    with pytest.raises(InputError) as caught:
        write_package_zip(content, tmp_path / "q.zip")
    assert caught.value.code == "package.too_much"
    assert [path.name for path in tmp_path.iterdir()] == ["p.zip"]
    with pytest.raises(StirfallError) as refused:
        read_package_zip(tmp_path / "p.zip")
    assert refused.value.code in ("package.too_many_rows", "package.too_large")


def test_an_older_package_in_a_folder_is_replaced_whole(content: PackageContent, tmp_path: Path) -> None:
    write_package_folder(content, tmp_path / "p")
    (tmp_path / "p" / "photos" / "mine.txt").write_text("keep me", encoding="utf-8")
    write_package_folder(replace(content, bulky=()), tmp_path / "p")
    assert read_package(tmp_path / "p").bulky == ()
    assert [path.name for path in (tmp_path / "p" / "photos").iterdir()] == ["mine.txt"]
    assert not (tmp_path / "p" / "examples").exists()
    assert not (tmp_path / "p" / "temperatures.csv").exists()


# --------------------------------------------------------------------------------------------------- other readers


@pytest.mark.filterwarnings("ignore")  # the validating library itself uses deprecated parts of others
def test_an_independent_reader_finds_zip_file_and_folder_valid(content: PackageContent, tmp_path: Path) -> None:
    # frictionless checks Data Package, Table Schema, types, constraints, keys, sizes and hashes of datapackage.org.
    from frictionless import Package

    write_package_zip(content, tmp_path / "p.zip", extra=EXTRA)
    write_package_folder(content, tmp_path / "p", extra=EXTRA)
    for place in (tmp_path / "p.zip", tmp_path / "p" / "datapackage.json"):
        package = Package(str(place))
        report = package.validate()
        assert report.valid, report.flatten(["name", "title", "rowNumber", "fieldName", "note"])
        assert len(report.tasks) == 22
        (log,) = package.get_resource("temperatures").read_rows()[:1]
        assert (log["log_id"], float(log["temperature_c"])) == ("t1", 20.5)


@pytest.mark.filterwarnings("ignore")
@pytest.mark.parametrize(
    ("name", "old", "new", "kind"),
    [
        ("temperatures.csv", b"t1,", b"t9,", "foreign-key"),
        ("photos.csv", b",a2,", b",a7,", "foreign-key"),
        ("attempts.csv", b",fold,", b",stamp,", "constraint-error"),
        ("runs.csv", b"r1,", b",", "constraint-error"),
        ("run_events.csv", b"e2,", b"e1,", "primary-key"),
        ("figures/odds.svg", b"svg", b"png", "hash-count"),
    ],
)
def test_the_independent_reader_notices_what_was_spoilt(
    content: PackageContent, tmp_path: Path, name: str, old: bytes, new: bytes, kind: str
) -> None:
    from frictionless import Package

    write_package_folder(content, tmp_path / "p", extra=EXTRA)
    path = tmp_path / "p" / name
    data = path.read_bytes()
    assert old in data
    path.write_bytes(data.replace(old, new, 1))
    told = json.loads((tmp_path / "p" / "datapackage.json").read_text(encoding="utf-8"))
    for each in told["resources"] if kind != "hash-count" else ():
        del each["bytes"], each["hash"]  # which would tell first
    (tmp_path / "p" / "datapackage.json").write_text(json.dumps(told), encoding="utf-8")
    report = Package(str(tmp_path / "p" / "datapackage.json")).validate()
    assert kind in {error for (error,) in report.flatten(["type"])}


def test_the_descriptor_follows_the_schema_of_what_is_added_to_the_standard(
    content: PackageContent, tmp_path: Path
) -> None:
    # JSON Schema 2020-12, checked by the library jsonschema.
    schema = json.loads((ROOT / "resources" / "schemas" / "package.schema.json").read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    validator = jsonschema.Draft202012Validator(schema)
    for each, options in ((content, {"extra": EXTRA}), (content, {"photos": "none"}), (good_content(), {})):
        write_package_zip(each, tmp_path / "p.zip", **options)  # type: ignore[arg-type]
        validator.validate(descriptor(tmp_path / "p.zip"))
    for sample in (ROOT / "sample_sessions").glob("*/datapackage.json"):
        validator.validate(json.loads(sample.read_text(encoding="utf-8")))


def test_the_descriptor_tells_sizes_hashes_units_choices_and_where_it_comes_from(
    content: PackageContent, tmp_path: Path
) -> None:
    write_package_zip(content, tmp_path / "p.zip", extra=EXTRA)
    told = descriptor(tmp_path / "p.zip")
    assert told["created"] == "2026-03-01T12:00:00.000Z"
    assert told["version"] == "2.2.1"
    assert told["licenses"] == [{"name": "CC0-1.0"}]
    assert told["sources"] == [{"title": "north, Small"}, {"title": "north: first"}]
    resources = {each["name"]: each for each in told["resources"]}  # type: ignore[attr-defined]
    with zipfile.ZipFile(tmp_path / "p.zip") as file:
        for each in resources.values():
            data = file.read(each["path"])
            assert (each["bytes"], each["hash"]) == (len(data), f"sha256:{hashlib.sha256(data).hexdigest()}")
        photos = list(csv.DictReader(io.StringIO(file.read("photos.csv").decode(), newline="")))
        for row in photos:
            assert row["sha256"] == hashlib.sha256(file.read(row["path"])).hexdigest()
    assert "recipe-json" not in resources  # readers would take a JSON file for a part of the descriptor
    fields = {each["name"]: each for each in resources["attempts"]["schema"]["fields"]}
    assert fields["condition: temperature"]["unit"] == "C"
    assert fields["charge_g"]["unit"] == "g"
    assert fields["condition: action"]["constraints"] == {"enum": ["fold", "press"]}
    assert fields["parted"]["constraints"] == {"enum": ["no", "partly", "yes"]}
    assert fields["id"]["constraints"] == {"required": True}
    assert resources["temperatures"]["schema"]["foreignKeys"] == [
        {"fields": ["log_id"], "reference": {"resource": "temperature_logs", "fields": ["id"]}}
    ]


def test_every_table_and_column_is_in_the_guide() -> None:
    guide = (ROOT / "resources" / "guide" / "files.md").read_text(encoding="utf-8")
    from malformed_packages import good_files

    for name, data in good_files().items():
        if name.endswith(".csv"):
            section = guide.split(f"### {name}\n", 1)[1].split("\n### ", 1)[0]
            heading = next(csv.reader(io.StringIO(data.decode(), newline="")))
            missing = [
                each for each in heading if not each.startswith("condition: ") and f"| `{each}` |" not in section
            ]
            assert missing == [], name


def test_long_fields_are_allowed_only_while_a_package_is_read() -> None:
    before = csv.field_size_limit(1_000)  # other libraries of these tests have set it as they need it
    try:
        with long_fields(16_000_000), long_fields(2_000):
            assert csv.field_size_limit() == 16_000_000
        assert csv.field_size_limit() < 16_000_000
    finally:
        csv.field_size_limit(before)
