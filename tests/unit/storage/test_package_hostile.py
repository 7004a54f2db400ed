"""Packages from strangers: each ends in a sentence, nothing is written anywhere, and memory stays small."""

from __future__ import annotations

import io
import json
import os
import stat
import struct
import tracemalloc
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
from malformed_packages import good_files, good_package, malformed_package, zipped

from stirfall.bench.errors import StirfallError
from stirfall.reporting.sentences import all_sentences, error_sentence
from stirfall.storage import package_limits as limits
from stirfall.storage.package import read_package
from stirfall.storage.package_zip import read_any_package, read_package_zip

MEGABYTE = 1024 * 1024


def trouble(data: bytes | Path) -> StirfallError:
    """Return the error that reading ends in, whose sentence says something and is not long."""
    with pytest.raises(StirfallError) as caught:
        read_package_zip(data) if isinstance(data, bytes) else read_any_package(data)
    assert caught.value.code in all_sentences()
    said = error_sentence(caught.value)
    assert len(said) < 1500
    assert "\0" not in said
    return caught.value


def with_files(**changed: bytes | None) -> bytes:
    """Return the package with some files changed, None for one that is left out; names end in _csv."""
    files = good_files()
    for name, data in changed.items():
        place = name.replace("_csv", ".csv")
        if data is None:
            del files[place]
        else:
            files[place] = data
    return zipped(files.items())


def with_member(member: zipfile.ZipInfo, data: bytes = b"x") -> bytes:
    """Return the package with one more member."""
    out = io.BytesIO(good_package())
    with zipfile.ZipFile(out, "a") as file:
        file.writestr(member, data)
    return out.getvalue()


def member(name: str, **fields: int) -> zipfile.ZipInfo:
    """Return the head of a member."""
    info = zipfile.ZipInfo(name)
    for field, value in fields.items():
        setattr(info, field, value)
    return info


def with_flags(name: str, flags: int) -> bytes:
    """Return the package with other flags of one member, in its own head and in the list of names."""
    data = bytearray(good_package())
    for mark, at_flags, at_name in ((b"PK\x03\x04", 6, 30), (b"PK\x01\x02", 8, 46)):
        at = next(
            at
            for at in range(len(data))
            if data.startswith(mark, at) and data.startswith(name.encode(), at + at_name)
        )
        struct.pack_into("<H", data, at + at_flags, flags)
    return bytes(data)


# ----------------------------------------------------------------------------------------------------------- names


@pytest.mark.parametrize(
    "name",
    [
        "../outside.csv",
        "photos/../../outside.csv",
        "/etc/passwd",
        "C:/outside.csv",
        "c:outside.csv",
        "photos\\outside.csv",
        "lots.csv/",
        "nul.csv",
        "photos/com1",
        "a//b",
        "./a",
        "ends.",
        "ends ",
        "x" * 300,
        "a\x01b",
        "a?b",
    ],
)
def test_names_that_could_lead_elsewhere_are_refused(name: str) -> None:
    assert trouble(with_member(member(name))).code == "package.zip_name"


def test_a_name_that_is_not_utf_8_is_refused() -> None:
    # PKWARE APPNOTE appendix D: without flag 11 a name is in an old code page, with it in UTF-8.
    bare = with_flags("settings.csv", 0).replace(b"settings.csv", b"sett\xecngs.csv")
    assert trouble(bare).code == "package.zip_name"
    claimed = with_flags("settings.csv", 0x800).replace(b"settings.csv", b"sett\xecngs.csv")
    assert trouble(claimed).code == "package.no_zip"


@pytest.mark.parametrize("name", ["attempts.csv", "ATTEMPTS.csv", "attempts.csv/inside.txt"])
@pytest.mark.filterwarnings("ignore:Duplicate name")
def test_names_that_stand_twice_or_clash_are_refused(name: str) -> None:
    assert trouble(with_member(member(name))).code == "package.zip_clash"


@pytest.mark.parametrize("kind", [stat.S_IFLNK, stat.S_IFIFO, stat.S_IFCHR, stat.S_IFDIR])
def test_links_and_other_things_that_are_no_files_are_refused(kind: int) -> None:
    assert trouble(with_member(member("photos/link.jpg", external_attr=kind << 16))).code == "package.zip_link"


def test_locked_nested_and_oddly_packed_members_are_refused() -> None:
    assert trouble(with_flags("lots.csv", 0x1)).code == "package.zip_encrypted"
    assert trouble(with_member(member("inner.zip"), good_package())).code == "package.zip_nested"
    for kind in (zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA):
        assert trouble(with_member(member("a.txt", compress_type=kind))).code == "package.zip_compression"


def test_a_whole_package_inside_one_folder_is_read_and_other_small_files_do_no_harm() -> None:
    inside = zipped([("trial/", b""), *((f"trial/{name}", data) for name, data in good_files().items())])
    assert read_package_zip(inside) == read_package_zip(good_package())
    assert read_package_zip(with_member(member("__MACOSX/._lots.csv"))) == read_package_zip(good_package())
    assert trouble(zipped([("a/b/datapackage.json", b"{}")])).code == "package.no_descriptor"


# ----------------------------------------------------------------------------------------------------------- sizes


CORRECTIONS_HEAD = good_files()["corrections.csv"].partition(b"\n")[0] + b"\n"


def bomb(name: str, piece: bytes, times: int, head: bytes = b"") -> bytes:
    """Return the package with one member that unpacks to a head and many times a piece."""
    out = io.BytesIO(zipped((each, data) for each, data in good_files().items() if each != name))
    info = member(name, compress_type=zipfile.ZIP_DEFLATED)
    with zipfile.ZipFile(out, "a") as file, file.open(info, "w") as inner:
        inner.write(head)
        for _ in range(times):
            inner.write(piece)
    return out.getvalue()


@pytest.mark.parametrize(
    ("name", "piece", "times", "code"),
    [
        ("photos/attempt-001-1.jpg", b"\0" * MEGABYTE, 20, "package.bomb"),
        ("lots.csv", b"," * MEGABYTE, 40, "package.long_line"),
        ("jars.csv", b'"' + b"x" * MEGABYTE, 40, "package.long_line"),
        ("settings.csv", b"\0" * MEGABYTE, 40, "package.zero_bytes"),
        ("photos/attempt-001-1.jpg", b"\0" * MEGABYTE, 40, "package.too_large"),
        ("datapackage.json", b"[" * MEGABYTE, 40, "package.too_large"),
    ],
)
def test_what_grows_out_of_proportion_is_stopped_in_little_memory(
    name: str, piece: bytes, times: int, code: str
) -> None:
    data = bomb(name, piece, times)
    tracemalloc.start()
    try:
        assert trouble(data).code == code
        assert tracemalloc.get_traced_memory()[1] < 60 * MEGABYTE
    finally:
        tracemalloc.stop()


def test_a_declared_size_is_not_believed() -> None:
    data = bomb("corrections.csv", b"\r\n" * 50_000, 2, CORRECTIONS_HEAD)
    at = data.rindex(b"PK\x01\x02", 0, data.rindex(b"corrections.csv"))
    for size in (10, 5000):
        told = bytearray(data)
        struct.pack_into("<I", told, at + 24, size)
        assert trouble(bytes(told)).code in ("package.broken_file", "package.wrong_header")


def test_all_of_a_package_together_has_a_limit(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(limits, "MOST_TOTAL", 3000)
    assert trouble(good_package()).code == "package.too_large"


def test_a_zip_file_with_very_many_names_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(limits, "MOST_FILES", 10)
    assert trouble(good_package()).code == "package.too_many_files"
    # The end of a zip file says how long its list of names is (PKWARE APPNOTE 4.3.16): one gigabyte here.
    monkeypatch.setattr(limits, "MOST_FILES", 50_000)
    end = good_package().rindex(b"PK\x05\x06")
    told = bytearray(good_package())
    struct.pack_into("<I", told, end + 12, 1 << 30)
    assert trouble(bytes(told)).code in ("package.too_many_files", "package.no_zip")
    monkeypatch.setattr(limits, "MOST_DIRECTORY", 500)
    assert trouble(good_package()).code == "package.too_many_files"


@pytest.mark.parametrize("data", [b"", b"PK", b"PK\x05\x06" + b"\0" * 18, b"<html>", bytes(range(256)) * 40])
def test_what_is_no_zip_file_says_so(data: bytes) -> None:
    assert trouble(data).code in ("package.no_zip", "package.no_descriptor")


# ------------------------------------------------------------------------------------------------ tables and cells

LOTS_HEAD = b"id,made_at,solids_percent,note,metal_percent,metal_u_percent,assays\r\n"


@pytest.mark.parametrize(
    ("data", "code"),
    [
        (b"a," * 1_000_000, "package.too_many_columns"),
        (b"id\0,made_at\r\n", "package.zero_bytes"),
        (LOTS_HEAD.decode().encode("utf-16"), "package.unreadable"),
        (LOTS_HEAD + "L1,,,\u00e9,,,\r\n".encode("latin-1"), "package.unreadable"),
        (LOTS_HEAD + b"L1,,1e999,,,,\r\n", "package.bad_cells"),
        (LOTS_HEAD + b"L1,,NaN,,,,\r\n", "package.bad_cells"),
        (LOTS_HEAD + b"L1,,,,,," + b"9" * 5000 + b"\r\n", "package.bad_cells"),
        (LOTS_HEAD + b"x" * MEGABYTE + b",,,,,,\r\n", "package.bad_cells"),
        (LOTS_HEAD + b",,,,,,\r\n", "package.bad_cells"),
        (LOTS_HEAD + b"'\\\\u00,,,,,,\r\n", "package.bad_cells"),
        (LOTS_HEAD + b'L1,,,"open', "package.broken_csv"),
        (LOTS_HEAD + b'L1,,,"a"b,,,\r\n', "package.broken_csv"),
        (LOTS_HEAD + b'L1,,,"' + b"x\r\n" * 500_000, "package.broken_csv"),
        (LOTS_HEAD + b"=cmd,,,,,,\r\n" * 2, "package.repeated_id"),
        (b"", "package.wrong_header"),
    ],
)
def test_tables_that_are_none_are_refused(data: bytes, code: str) -> None:
    assert trouble(with_files(lots_csv=data)).code == code


@pytest.mark.parametrize(
    "cell",
    [
        "[" * 100_000,
        "[" * 900 + "]" * 900,
        '["\\ud800"]',
        "[NaN]",
        "[1e999]",
        '{"a": 1}',
        "[1]",
        '[["a"]]',
        '[["a", 5]]',
        "9" * 400,
    ],
)
def test_json_that_does_not_fit_is_refused(cell: str) -> None:
    files = good_files()
    head, row, *_ = files["settings.csv"].decode().split("\r\n")
    place = head.split(",").index("products")
    cells = row.replace('"[""temperature""]"', "HUMPS").split(",")
    cells[place] = '"' + cell.replace('"', '""') + '"'
    text = f"{head}\r\n{','.join(cells).replace('HUMPS', '')}\r\n"
    assert trouble(with_files(settings_csv=text.encode())).code in ("package.bad_cells", "package.bad_json")


def test_many_bad_cells_are_counted_and_few_are_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    rows = b"".join(b"L%d,no time,,,,,\r\n" % number for number in range(3000))
    error = trouble(with_files(lots_csv=LOTS_HEAD + rows))
    assert error.params["count"] == 3000
    assert "and 2994 more" in error_sentence(error)
    monkeypatch.setattr(limits, "MOST_ROWS", 100)
    assert trouble(with_files(lots_csv=LOTS_HEAD + rows.replace(b"no time", b""))).code == "package.too_many_rows"
    files = with_files(corrections_csv=good_files()["corrections.csv"] + b"\r\n" * 200)
    read_package_zip(files)  # empty lines are no rows


# ------------------------------------------------------------------------------------------------------ descriptor


@pytest.mark.parametrize(
    ("change", "code"),
    [
        (lambda told: told["resources"][0].update(path="../settings.csv"), "package.path_outside"),
        (lambda told: told["resources"][0].update(path="/etc/passwd"), "package.path_outside"),
        (lambda told: told["resources"][0].update(path=["a.csv", "C:\\b.csv"]), "package.path_outside"),
        (lambda told: told["resources"][0].update(path="https://example.org/a.csv"), "package.path_outside"),
        (lambda told: told.update(resources=[5]), "package.foreign"),
        (lambda told: told.update(resources={}), "package.foreign"),
        (lambda told: told.update(stirfall={"schema": ["x"]}), "package.foreign"),
        (lambda told: told["stirfall"].update(schema="stirfall.package/" + "9" * 5000), "package.newer"),
    ],
)
def test_descriptors_that_lead_elsewhere_or_make_no_sense_are_refused(
    change: Callable[[dict[str, object]], object], code: str
) -> None:
    told = json.loads(good_files()["datapackage.json"])
    change(told)
    files = good_files() | {"datapackage.json": json.dumps(told).encode()}
    assert trouble(zipped(files.items())).code == code


@pytest.mark.parametrize("text", [b"[" * 200_000, b"\xff\xfe{}", b"", b'{"a": ' + b"9" * 5000 + b"}"])
def test_descriptors_that_are_no_json_are_refused(text: bytes) -> None:
    files = good_files() | {"datapackage.json": text}
    assert trouble(zipped(files.items())).code == "package.unreadable"


def test_odd_words_about_its_origin_are_left_out_not_believed() -> None:
    told = json.loads(good_files()["datapackage.json"])
    told |= {"created": "soon", "sources": [5, {"title": []}], "licenses": {}, "description": ["\ud800"]}
    told["stirfall"] |= {"left_out": {"photos": -1, "undone": "many"}, "program": 5}
    content = read_package_zip(zipped((good_files() | {"datapackage.json": json.dumps(told).encode()}).items()))
    assert content.description == ""
    assert content.facts == type(content.facts)()


# -------------------------------------------------------------------------------------------------------- pictures


def test_a_picture_that_is_another_one_or_missing_or_named_outside_is_refused() -> None:
    name = "photos/attempt-001-1.jpg"
    files = good_files()
    assert trouble(zipped((files | {name: b"other"}).items())).code == "package.other_file"
    del files[name]
    assert trouble(zipped(files.items())).code == "package.missing_file"
    same = good_files()["photos.csv"].replace(b"-1-original.jpg", b"-1.jpg")
    assert trouble(with_files(photos_csv=same)).code == "package.file_twice"
    rows = good_files()["photos.csv"].replace(name.encode(), b"../../etc/passwd")
    assert trouble(with_files(photos_csv=rows)).code == "package.missing_file"


# ---------------------------------------------------------------------------------------------------------- folder


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Return the good package as a folder."""
    for name, data in good_files().items():
        path = tmp_path / "p" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
    return tmp_path / "p"


def test_links_that_lead_out_of_a_folder_are_refused(folder: Path, tmp_path: Path) -> None:
    secret = tmp_path / "secret.csv"
    secret.write_bytes((folder / "lots.csv").read_bytes())
    (folder / "lots.csv").unlink()
    (folder / "lots.csv").symlink_to(secret)
    assert trouble(folder).code == "package.link"
    (folder / "lots.csv").unlink()
    (folder / "lots.csv").symlink_to(folder / "lots.csv")
    assert trouble(folder).code in ("package.missing_file", "package.broken_file")


def test_a_pipe_or_a_folder_in_place_of_a_table_does_not_hang(folder: Path) -> None:
    (folder / "lots.csv").unlink()
    os.mkfifo(folder / "lots.csv")
    assert trouble(folder).code == "package.missing_file"
    (folder / "lots.csv").unlink()
    (folder / "lots.csv").mkdir()
    assert trouble(folder).code == "package.missing_file"


def test_a_folder_has_the_limits_of_a_zip_file(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert read_package(folder) == read_package_zip(good_package())
    assert read_any_package(folder / "datapackage.json") == read_package(folder)
    monkeypatch.setattr(limits, "MOST_TABLE", 100)
    assert trouble(folder).code == "package.too_large"


# ------------------------------------------------------------------------------------------------------------ fuzz


def end_of(data: bytes) -> str:
    """Return how reading ends: read, or the code of the error."""
    try:
        list(read_package_zip(data).bulky)
    except StirfallError as error:
        return error.code
    return "read"


def test_malformed_packages_end_in_a_sentence_or_are_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    # tests/e2e/test_malformed_inputs.py goes through thousands of them.
    monkeypatch.chdir(tmp_path)
    assert malformed_package(7) == malformed_package(7)
    ends = [end_of(malformed_package(seed)) for seed in range(150)]
    assert len(set(ends)) > 10
    assert 10 < ends.count("read") < 75
    assert set(ends) - {"read"} <= set(all_sentences())
    assert list(tmp_path.iterdir()) == []
