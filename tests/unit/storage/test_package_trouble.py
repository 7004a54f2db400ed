from __future__ import annotations

import json
from datetime import UTC, datetime
from pathlib import Path

import pytest

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import FileTroubleError, InputError, StirfallError
from stirfall.bench.factors import Conditions, Factor
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings, Jar, Lot
from stirfall.reporting.sentences import all_sentences, error_sentence
from stirfall.storage.package import read_package, write_package

NOON = datetime(2026, 3, 1, 12, tzinfo=UTC)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    state = CampaignState(
        CampaignSettings(title="Small"),
        (Factor("temperature", "C", 100, 200), Factor("action", levels=("swirl", "fold"))),
        (Lot("L1", NOON, 12.5, "first"),),
        (Jar("J1", "L1", NOON),),
        (
            Attempt("a1", 1, Conditions({"temperature": 150.0, "action": "fold"}), lot_id="L1", jar_id="J1"),
            Attempt("a2", 2, Conditions({"temperature": 160.0}), parted=Parted.YES, pooled=Pooled.ONE_POOL),
        ),
    )
    write_package(state, [], tmp_path / "small")
    return tmp_path / "small"


def change(path: Path, old: str, new: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert text.count(old) >= 1
    path.write_text(text.replace(old, new, 1), encoding="utf-8", newline="")


def trouble(folder: Path) -> StirfallError:
    with pytest.raises(StirfallError) as caught:
        read_package(folder)
    assert caught.value.code in all_sentences()
    assert "{" not in error_sentence(caught.value)
    return caught.value


@pytest.mark.parametrize("name", ["settings", "factors", "lots", "jars", "attempts", "corrections", "checklist"])
def test_a_missing_table_is_named(folder: Path, name: str) -> None:
    (folder / f"{name}.csv").unlink()
    error = trouble(folder)
    assert error.code == "package.missing_file"
    assert f"{name}.csv" in error_sentence(error)


def test_every_bad_cell_is_named_with_row_and_column(folder: Path) -> None:
    change(folder / "attempts.csv", ",150,", ",hot,")
    change(folder / "attempts.csv", ",yes,", ",perhaps,")
    change(folder / "lots.csv", "12.5", "nan")
    error = trouble(folder)
    assert error.code == "package.bad_cells"
    said = error_sentence(error)
    assert "3 cells" in said
    assert "lots.csv row 2, column solids_percent: “nan” is not a number" in said
    assert "attempts.csv row 2, column condition: temperature: “hot” is not a number" in said
    assert "attempts.csv row 3, column parted: “perhaps” is not one of: no, partly, yes" in said


def test_a_wrong_heading_is_named(folder: Path) -> None:
    change(folder / "lots.csv", "made_at", "made")
    error = trouble(folder)
    assert error.code == "package.wrong_header"
    assert error.params["odd"] == "made, made_at"


def test_a_short_row_is_named(folder: Path) -> None:
    with (folder / "lots.csv").open("a", encoding="utf-8") as file:
        file.write("L2\r\n")
    error = trouble(folder)
    assert (error.code, error.params["row"]) == ("package.ragged", 3)


def test_a_row_that_contradicts_itself_says_why(folder: Path) -> None:
    change(folder / "factors.csv", ",100,200,", ",300,200,")
    error = trouble(folder)
    assert (error.code, error.params["row"]) == ("package.bad_row", 2)
    assert "The first must be the smaller" in error_sentence(error)


def test_a_repeated_identity_is_refused(folder: Path) -> None:
    change(folder / "attempts.csv", "a2,", "a1,")
    assert trouble(folder).code == "package.repeated_id"


def test_an_attempt_on_an_unknown_jar_is_refused(folder: Path) -> None:
    change(folder / "attempts.csv", "J1", "J9")
    error = trouble(folder)
    assert error.code == "package.unknown_link"
    assert "jars.csv" in error_sentence(error)


def test_two_rows_of_settings_are_refused(folder: Path) -> None:
    path = folder / "settings.csv"
    lines = path.read_text(encoding="utf-8").splitlines(keepends=True)
    path.write_text("".join([*lines, lines[1]]), encoding="utf-8", newline="")
    assert trouble(folder).code == "package.one_settings_row"


@pytest.mark.parametrize(
    ("old", "new", "code"),
    [
        ("stirfall.package/2", "stirfall.package/3", "package.newer"),
        ("stirfall.package/2", "something else", "package.foreign"),
        ("{", "[", "package.unreadable"),
    ],
)
def test_a_descriptor_of_another_kind_is_refused(folder: Path, old: str, new: str, code: str) -> None:
    change(folder / "datapackage.json", old, new)
    assert trouble(folder).code == code


def test_a_folder_without_descriptor_is_no_package(folder: Path) -> None:
    (folder / "datapackage.json").unlink()
    assert trouble(folder).code == "package.no_descriptor"


def test_a_table_that_is_not_utf8_is_refused(folder: Path) -> None:
    (folder / "lots.csv").write_bytes(b"\xff\xfe\x00")
    assert trouble(folder).code == "package.unreadable"


def test_a_spreadsheet_that_adds_a_byte_order_mark_does_no_harm(folder: Path) -> None:
    before = read_package(folder)
    path = folder / "attempts.csv"
    path.write_bytes(b"\xef\xbb\xbf" + path.read_bytes())
    assert read_package(folder) == before


def test_a_folder_with_other_files_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "letter.txt").write_text("keep me", encoding="utf-8")
    with pytest.raises(FileTroubleError) as caught:
        write_package(CampaignState(CampaignSettings(), ()), [], tmp_path)
    assert caught.value.code == "package.folder_in_use"
    assert [path.name for path in tmp_path.iterdir()] == ["letter.txt"]


def test_a_package_is_replaced_by_a_newer_one_and_leaves_no_scraps(folder: Path) -> None:
    state = CampaignState(CampaignSettings(title="Next"), ())
    write_package(state, [], folder)
    assert read_package(folder).state == state
    assert [path.name for path in folder.parent.iterdir()] == ["small"]


def test_a_folder_that_cannot_be_made_is_reported(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    with pytest.raises(FileTroubleError) as caught:
        write_package(CampaignState(CampaignSettings(), ()), [], tmp_path / "file" / "package")
    assert caught.value.code == "package.cannot_write"


@pytest.mark.parametrize("value", [float("nan"), float("inf")])
def test_a_number_that_is_not_finite_is_refused_before_anything_is_written(tmp_path: Path, value: float) -> None:
    state = CampaignState(CampaignSettings(melting_point_c=value), ())
    with pytest.raises(InputError) as caught:
        write_package(state, [], tmp_path / "package")
    assert caught.value.code == "package.not_finite"
    assert not (tmp_path / "package").exists()


def test_numbers_and_words_under_one_condition_are_refused(tmp_path: Path) -> None:
    tried = (Attempt("a", 1, Conditions({"x": 1.0})), Attempt("b", 2, Conditions({"x": "one"})))
    with pytest.raises(InputError) as caught:
        write_package(CampaignState(CampaignSettings(), (), attempts=tried), [], tmp_path / "package")
    assert (caught.value.code, caught.value.params["number"]) == ("package.mixed_condition", 2)


def test_the_descriptor_describes_every_column_and_the_same_campaign_gives_the_same_bytes(folder: Path) -> None:
    descriptor = json.loads((folder / "datapackage.json").read_text(encoding="utf-8"))
    for resource in descriptor["resources"]:
        heading = (folder / resource["path"]).read_text(encoding="utf-8").split("\n", 1)[0].strip()
        assert heading == ",".join(field["name"] for field in resource["schema"]["fields"])
        assert all(field["description"] for field in resource["schema"]["fields"])
    first = {path.name: path.read_bytes() for path in folder.iterdir()}
    content = read_package(folder)
    write_package(content.state, content.corrections, folder)
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == first


def test_a_package_of_the_first_form_is_read(folder: Path) -> None:
    before = read_package(folder)
    change(folder / "datapackage.json", "stirfall.package/2", "stirfall.package/1")
    assert read_package(folder) == before
