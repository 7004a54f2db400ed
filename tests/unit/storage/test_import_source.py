"""Files with tables: encodings, delimiters, titles, units, limits, and workbooks that were built to do harm."""

from __future__ import annotations

import io
import zipfile
from datetime import datetime, time
from pathlib import Path

import pytest
from tables_of_attempts import LAB, table_of, workbook

from stirfall.bench.errors import FileTroubleError, InputError, StirfallError
from stirfall.reporting.sentences import error_sentence
from stirfall.storage import import_cells, import_workbook
from stirfall.storage.import_cells import DATE_CELL, FORMULA_CELL, NUMBER_CELL, kind_of_cell
from stirfall.storage.import_source import ReadingChoices, source_of, sources

DAY = datetime.fromisoformat("2026-03-14T10:20")
ROWS = [["no", "date", "T (°C)", "result"], [1, DAY, 150.5, "clean"]]


def refused(act: object) -> StirfallError:
    assert callable(act)
    with pytest.raises(StirfallError) as caught:
        act()
    assert not error_sentence(caught.value).startswith(caught.value.code)
    return caught.value


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"])
def test_every_encoding_gives_the_same_table(encoding: str) -> None:
    table = table_of(LAB.encode(encoding))
    assert table.header[4] == "T (°C)"
    assert table.column(4) == ("150", "151,5", "149", "n/a")
    assert ("import.read_as_windows" in [each.code for each in table.remarks]) == (encoding == "cp1252")


@pytest.mark.parametrize("mark", [";", "\t", "|"])
def test_delimiters_are_found(mark: str) -> None:
    table = table_of(LAB.replace(";", mark))
    assert table.delimiter == mark
    assert len(table.header) == 12


def test_decimal_commas_between_semicolons_are_no_delimiters() -> None:
    table = table_of("T;dose\n150,5;1,5\n151,5;2,5\n")
    assert table.header == ("T", "dose")
    assert table.rows == (("150,5", "1,5"), ("151,5", "2,5"))


def test_titles_a_row_of_units_blank_columns_and_repeated_headings_are_said() -> None:
    table = table_of("Spring\n\nage,T,,age,result\nh,°C,,d,\n24,150,,1,clean\n48,151,,2,beads\n")
    assert table.titles == ("Spring",)
    assert table.heading == 3
    assert table.header == ("age", "T", "age (2)", "result")
    assert table.units == ("h", "°C", "d", "")
    assert table.row_numbers == (5, 6)
    codes = [each.code for each in table.remarks]
    assert codes == ["import.units_row", "import.titles_above", "import.blank_columns", "import.headings_repeat"]


def test_a_table_without_headings_says_so_and_keeps_its_first_row() -> None:
    table = table_of("150,24,1\n151,48,0\n")
    assert table.header == ("column 1", "column 2", "column 3")
    assert len(table.rows) == 2
    assert "import.no_headings" in [each.code for each in table.remarks]


def test_another_row_can_be_named_as_the_headings() -> None:
    table = table_of("a,b\nT,age\n150,24\n", choices=ReadingChoices(heading=2))
    assert table.header == ("T", "age")
    assert refused(lambda: table_of("T\n150\n", choices=ReadingChoices(heading=9))).code == "import.heading_unknown"


def test_a_longer_row_is_kept_for_the_list_of_refused_cells() -> None:
    assert table_of("T,age\n150,24,7\n151,48\n").longer == ((2, "7"),)


@pytest.mark.parametrize(
    ("data", "code"),
    [
        (b"", "import.empty"),
        (b"\n\n", "import.empty"),
        (b"T,age\n", "import.no_rows"),
        (b'T,age\n"150,24\n', "import.quotes"),
        (b"T,age\n" + b"1," * 1_200 + b"1\n", "import.too_many_columns"),
        (b",".join([b"1"] * 1_000_000), "import.too_many_columns"),
        (b"T,note\n150," + b"x" * 40_000, "import.cell_too_long"),
        (b'T,note\n150,"' + b"x" * 140_000, "import.cell_too_long"),
        (b"T,age\n\x00\x01\x02,24\n", "import.not_text"),
        (b"T,age\n\x81\x8d,24\n", "import.not_text"),
        (b"%PDF-1.7", "import.other_kind"),
        (b"\xd0\xcf\x11\xe0 old", "import.other_kind"),
    ],
)
def test_what_cannot_be_a_table_gets_a_message(data: bytes, code: str) -> None:
    assert refused(lambda: table_of(data)).code == code


def test_limits_of_rows_cells_and_bytes_are_messages(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    from stirfall.storage import import_source, import_text

    assert (import_cells.MOST_ROWS, import_cells.MOST_COLUMNS, import_cells.MOST_LETTERS) == (
        200_000,
        1_000,
        32_767,
    )
    assert import_cells.MOST_BYTES == 200 * 1024 * 1024
    monkeypatch.setattr(import_text, "MOST_ROWS", 3)
    assert refused(lambda: table_of("T\n1\n2\n3\n")).code == "import.too_many_rows"
    monkeypatch.setattr(import_text, "MOST_CELLS", 4)
    assert refused(lambda: table_of("T,age\n1,2\n3,4\n")).code == "import.too_many_cells"
    monkeypatch.setattr(import_source, "MOST_BYTES", 5)
    (tmp_path / "t.csv").write_text("T\n1\n2\n")
    assert refused(lambda: sources(tmp_path / "t.csv")).code == "import.file_too_large"


def test_what_is_not_there_and_a_folder_get_messages(tmp_path: Path) -> None:
    assert isinstance(refused(lambda: sources(tmp_path / "none.csv")), FileTroubleError)
    assert refused(lambda: sources(tmp_path)).code == "import.is_folder"


# -- workbooks -----------------------------------------------------------------------------------------


def test_a_workbook_gives_dates_as_dates_and_numbers_as_numbers() -> None:
    table = table_of(
        workbook(
            ("Attempts", [*ROWS, [2, DAY.replace(day=15, hour=0, minute=0), 1.5, True], [3, time(9, 5), 2, None]])
        )
    )
    assert table.rows[0] == ("1", "2026-03-14 10:20:00", "150.5", "clean")
    assert [kind_of_cell(cell) for cell in table.rows[0]] == [NUMBER_CELL, DATE_CELL, NUMBER_CELL, ""]
    assert table.rows[1] == ("2", "2026-03-15", "1.5", "yes")
    assert table.rows[2][1] == "09:05:00"


def test_sheets_are_offered_and_hidden_ones_said() -> None:
    import openpyxl

    book = openpyxl.load_workbook(io.BytesIO(workbook(("first", ROWS), ("second", ROWS))))
    book.worksheets[0].sheet_state = "hidden"
    book.worksheets[1].merge_cells("A5:B6")
    kept = io.BytesIO()
    book.save(kept)
    source = source_of(kept.getvalue(), "b.xlsx")
    assert [(each.name, each.is_hidden) for each in source.sheets] == [("first", True), ("second", False)]
    table = source.table()
    assert table.sheet == "second"
    assert [each.code for each in table.remarks] == ["import.merged_cells", "import.sheets_hidden"]
    assert "import.sheet_hidden" in [each.code for each in source.table("FIRST").remarks]
    assert refused(lambda: source.table("third")).code == "import.sheet_unknown"


def test_a_cover_sheet_is_passed_over() -> None:
    source = source_of(workbook(("Read me", [["copied by hand"]]), ("empty", []), ("Attempts", ROWS)), "b.xlsx")
    assert source.table().sheet == "Attempts"
    assert refused(lambda: source.table("Read me")).code == "import.no_rows"
    nothing = source_of(workbook(("Read me", [["copied by hand"]]), ("empty", [])), "b.xlsx")
    assert refused(nothing.table).code == "import.no_rows"


def test_a_formula_is_a_cell_of_its_own_and_its_stored_value_is_used_only_if_asked() -> None:
    data = workbook(("s", [["T", "result"], [150, "clean"], ["=A2+1", "beads"]]))
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        parts = {each.filename: archive.read(each) for each in archive.infolist()}
    sheet = parts["xl/worksheets/sheet1.xml"]
    assert b"<v></v>" in sheet or b"<v />" in sheet
    parts["xl/worksheets/sheet1.xml"] = sheet.replace(b"<v></v>", b"<v>151</v>").replace(b"<v />", b"<v>151</v>")
    data = packed(parts)
    cell = table_of(data).rows[1][0]
    assert (kind_of_cell(cell), str(cell)) == (FORMULA_CELL, "151")
    stored = table_of(data, choices=ReadingChoices(stored=True))
    assert (kind_of_cell(stored.rows[1][0]), stored.rows[1][0]) == (NUMBER_CELL, "151")
    assert "import.formulas_stored" in [each.code for each in stored.remarks]


def packed(parts: dict[str, bytes], method: int = zipfile.ZIP_DEFLATED) -> bytes:
    kept = io.BytesIO()
    with zipfile.ZipFile(kept, "w", method) as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    return kept.getvalue()


def _parts() -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(workbook(("s", ROWS)))) as archive:
        return {each.filename: archive.read(each) for each in archive.infolist()}


def test_a_bomb_is_refused_while_it_is_unpacked(monkeypatch: pytest.MonkeyPatch) -> None:
    bomb = packed({**_parts(), "xl/worksheets/sheet2.xml": b" " * 8_000_000})
    assert len(bomb) < 60_000
    assert refused(lambda: source_of(bomb, "b.xlsx")).code == "import.zip_bomb"
    many = packed({**_parts(), **{f"x{number}": b"" for number in range(2_001)}}, zipfile.ZIP_STORED)
    assert refused(lambda: source_of(many, "b.xlsx")).code == "import.zip_bomb"
    monkeypatch.setattr(import_workbook, "MOST_UNPACKED", 1_000)
    assert refused(lambda: source_of(workbook(("s", ROWS)), "b.xlsx")).code == "import.zip_bomb"


def test_entities_links_and_parts_outside_do_no_harm(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    parts = _parts()
    laughs = b'<?xml version="1.0"?><!DOCTYPE a [<!ENTITY b "ha">]>'
    declared = {**parts, "xl/worksheets/sheet1.xml": laughs + parts["xl/worksheets/sheet1.xml"]}
    assert refused(lambda: source_of(packed(declared), "b.xlsx")).code == "import.xml_declares"
    linked = {
        **parts,
        "xl/externalLinks/externalLink1.xml": b"<x/>",
        "../../outside.txt": b"x",
        "xl/vbaProject.bin": b"",
    }
    codes = [each.code for each in source_of(packed(linked), "b.xlsx").remarks]
    assert codes == ["import.links_not_followed", "import.macros_not_looked_at"]
    assert list(tmp_path.parent.rglob("outside.txt")) == []


@pytest.mark.parametrize(
    ("old", "new", "code"),
    [
        (b'r="D1"', b'r="XFD1"', "import.too_many_columns"),
        (b'<row r="2"', b'<row r="900000"', "import.too_many_blank_rows"),
        (b"<sheetData>", b"<sheetData><sheetData>", "import.workbook_broken"),
    ],
)
def test_sheets_that_lie_about_their_size_get_messages(old: bytes, new: bytes, code: str) -> None:
    parts = _parts()
    sheet = parts["xl/worksheets/sheet1.xml"]
    assert old in sheet
    parts["xl/worksheets/sheet1.xml"] = sheet.replace(old, new)
    assert refused(lambda: table_of(packed(parts))).code == code


def test_other_packed_files_are_no_workbooks() -> None:
    assert refused(lambda: source_of(packed({"a.txt": b"x"}), "b.xlsx")).code == "import.not_a_workbook"
    assert refused(lambda: source_of(b"PK\x03\x04 broken", "b.xlsx")).code == "import.zip_broken"
    with pytest.raises(InputError):
        source_of(b"PK\x03\x04", "b.xlsx")
