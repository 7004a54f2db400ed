from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stirfall.bench.errors import FileTroubleError, InputError
from stirfall.bench.factors import Scale
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.storage.table_text import read_text_table
from stirfall.storage.tables import BadCell, FactorColumn, TableContent, TableMapping, read_attempt_table

SIMPLE = "age,kind,result\n1,swirl,yes\n2.5,press,no\n24,swirl,yes\n"
BY_AGE = TableMapping(
    (FactorColumn("age", "h", Scale.LOG), FactorColumn("kind")), outcome="result", success=("yes",)
)


def _write(folder: Path, text: str, encoding: str = "utf-8") -> Path:
    path = folder / "table.csv"
    path.write_bytes(text.encode(encoding))
    return path


def _read(folder: Path, text: str, mapping: TableMapping = BY_AGE, encoding: str = "utf-8") -> TableContent:
    return read_attempt_table(_write(folder, text, encoding), mapping)


def _bad_cells(folder: Path, text: str, mapping: TableMapping = BY_AGE) -> list[tuple[int, str, str]]:
    with pytest.raises(InputError) as caught:
        _read(folder, text, mapping)
    assert caught.value.code == "table.bad_cells"
    cells = caught.value.params["cells"]
    assert isinstance(cells, tuple)
    assert all(isinstance(cell, BadCell) for cell in cells)
    return [(cell.row, cell.column, cell.reason.code) for cell in cells]


@pytest.mark.parametrize(
    ("text", "column"),
    [
        ("Volume:log", FactorColumn("Volume", "", Scale.LOG)),
        ("temp=F", FactorColumn("temp", "F")),
        ("age=h:log", FactorColumn("age", "h", Scale.LOG)),
        ("tool:choice", FactorColumn("tool", choice=True)),
        ("ratio 1:2", FactorColumn("ratio 1:2")),
    ],
)
def test_a_factor_column_is_read_as_it_is_typed(text: str, column: FactorColumn) -> None:
    assert FactorColumn.parse(text) == column


def test_each_row_becomes_an_attempt_and_ranges_are_those_of_the_data(tmp_path: Path) -> None:
    content = _read(tmp_path, SIMPLE)
    age, kind = content.factors
    assert (age.unit, age.low, age.high, age.scale) == ("h", 1.0, 24.0, Scale.LOG)
    assert kind.levels == ("swirl", "press")
    assert [attempt.successes for attempt in content.attempts] == [1, 0, 1]
    assert [attempt.number for attempt in content.attempts] == [1, 2, 3]
    assert dict(content.attempts[1].conditions) == {"age": 2.5, "kind": "press"}
    assert not content.two_gates


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
@pytest.mark.parametrize(
    "text",
    [
        SIMPLE,
        SIMPLE.replace(",", "\t"),
        SIMPLE.replace(",", ";"),
        SIMPLE.replace(",", ";").replace("2.5", "2,5"),
        SIMPLE.replace(",", "\t").replace("2.5", "2,500"),
        SIMPLE.replace("\n", "\r\n"),
        SIMPLE + "\n\n",
        '"age","kind","result"\n"1","swirl","yes"\n"2.5","press","no"\n"24","swirl","yes"',
    ],
)
def test_every_common_way_to_write_a_table_reads_the_same(tmp_path: Path, text: str, encoding: str) -> None:
    assert _read(tmp_path, text, encoding=encoding) == _read(tmp_path, SIMPLE)


def test_cells_may_carry_their_own_units(tmp_path: Path) -> None:
    content = _read(tmp_path, SIMPLE.replace("24,", "1 d,").replace("2.5,", "150 min,"))
    assert [attempt.conditions["age"] for attempt in content.attempts] == pytest.approx([1.0, 2.5, 24.0])


def test_bad_cells_are_named_by_row_and_column(tmp_path: Path) -> None:
    text = "age,kind,result\nten,swirl,yes\n2,press,no\n0,swirl,yes\n3 kg,press,no\n\n5,swirl,yes\nx,press,no\n"
    assert _bad_cells(tmp_path, text) == [
        (2, "age", "number.unreadable"),
        (4, "age", "value.log_needs_positive"),
        (5, "age", "unit.mismatch"),
        (8, "age", "number.unreadable"),
    ]


def test_a_missing_value_stays_unknown_and_a_missing_result_does_not_count(tmp_path: Path) -> None:
    content = _read(tmp_path, "age,kind,result\n1,swirl,yes\n,press,no\n3,NA,\n")
    assert "age" not in content.attempts[1].conditions
    assert "kind" not in content.attempts[2].conditions
    assert [attempt.clean_count for attempt in content.attempts] == [(1, 1), (0, 1), None]


@pytest.mark.parametrize(
    ("success", "hits"),
    [
        (("0",), [1, 0, 0]),
        ((">0",), [0, 1, 1]),
        (("<=2.0",), [1, 1, 0]),
        (("2", "5"), [0, 1, 1]),
        (("2.0",), [0, 1, 0]),
    ],
)
def test_success_is_a_value_or_a_comparison(tmp_path: Path, success: tuple[str, ...], hits: list[int]) -> None:
    mapping = TableMapping((FactorColumn("t"),), outcome="total", success=success)
    content = _read(tmp_path, "t,total\n1,0\n2,2\n3,5\n", mapping)
    assert [attempt.successes for attempt in content.attempts] == hits


def test_a_success_value_that_never_occurs_is_asked_about(tmp_path: Path) -> None:
    mapping = TableMapping((FactorColumn("age"),), outcome="result", success=("clean",))
    with pytest.raises(InputError) as caught:
        _read(tmp_path, SIMPLE, mapping)
    assert caught.value.code == "table.never_a_success"
    assert caught.value.params["seen"] == "yes, no"


def test_a_comparison_that_never_holds_means_that_nothing_was_clean(tmp_path: Path) -> None:
    mapping = TableMapping((FactorColumn("t"),), outcome="total", success=(">5",))
    content = _read(tmp_path, "t,total\n1,0\n2,2\n3,5\n", mapping)
    assert [attempt.successes for attempt in content.attempts] == [0, 0, 0]


def test_a_number_that_can_be_read_in_two_ways_is_asked_about_and_never_becomes_a_word(tmp_path: Path) -> None:
    text = 'age,kind,result\n"1,200",swirl,yes\n"2,500",press,no\n"12,000",press,no\n'
    assert _bad_cells(tmp_path, text) == [(row, "age", "number.ambiguous") for row in (2, 3, 4)]


def test_a_grouped_row_without_both_counts_has_no_result_and_one_without_trials_is_asked_about(
    tmp_path: Path,
) -> None:
    mapping = TableMapping((FactorColumn("t"),), outcome="k", trials="n")
    content = _read(tmp_path, "t,k,n\n1,2,6\n2,,\n3,NA,6\n", mapping)
    assert [attempt.clean_count for attempt in content.attempts] == [(2, 6), None, None]
    assert _bad_cells(tmp_path, "t,k,n\n1,2,6\n2,1,\n", mapping) == [(3, "n", "table.no_trials")]


def test_lots_are_told_apart_by_more_than_letter_case_and_an_unknown_one_is_none(tmp_path: Path) -> None:
    mapping = TableMapping((FactorColumn("t"),), outcome="ok", success=("1",), group="lot")
    content = _read(tmp_path, "t,lot,ok\n1,North,1\n2,north,0\n3,NA,1\n4,,0\n5,South,1\n", mapping)
    assert [lot.id for lot in content.lots] == ["North", "South"]
    assert [attempt.lot_id for attempt in content.attempts] == ["North", "North", None, None, "South"]


def test_grouped_rows_keep_their_counts(tmp_path: Path) -> None:
    mapping = TableMapping((FactorColumn("dose"),), outcome="killed", trials="n")
    content = _read(tmp_path, "dose,n,killed\n1.7,59,6\n1.8,60,13\n", mapping)
    assert [(attempt.successes, attempt.trials) for attempt in content.attempts] == [(6, 59), (13, 60)]


def test_counts_that_cannot_be_are_bad_cells(tmp_path: Path) -> None:
    mapping = TableMapping((FactorColumn("dose"),), outcome="killed", trials="n")
    text = "dose,n,killed\n1.7,5,6\n1.8,0,0\n1.9,10,2.5\n2.0,10,-1\n2.1,,1\n"
    assert _bad_cells(tmp_path, text, mapping) == [
        (2, "killed", "table.more_than_trials"),
        (3, "n", "table.no_trials"),
        (4, "killed", "table.not_a_count"),
        (5, "killed", "table.not_a_count"),
        (6, "n", "table.no_trials"),
    ]


def test_two_gates_and_lots_are_read(tmp_path: Path) -> None:
    mapping = TableMapping((FactorColumn("age"),), parted="g1", pooled="g2", group="lot")
    text = (
        "age,g1,g2,lot\n1,No,not observed,L1\n2,partly,beads,L1\n3,yes,One pool,L2\n4,no,,L2\n5,yes,few_pieces,\n"
    )
    content = _read(tmp_path, text, mapping)
    assert content.two_gates
    assert [lot.id for lot in content.lots] == ["L1", "L2"]
    assert [attempt.lot_id for attempt in content.attempts] == ["L1", "L1", "L2", "L2", None]
    assert [attempt.parted for attempt in content.attempts] == [
        Parted.NO,
        Parted.PARTLY,
        Parted.YES,
        Parted.NO,
        Parted.YES,
    ]
    assert content.attempts[2].pooled is Pooled.ONE_POOL


def test_a_pool_graded_where_nothing_parted_is_a_bad_cell(tmp_path: Path) -> None:
    mapping = TableMapping((FactorColumn("age"),), parted="g1", pooled="g2")
    assert _bad_cells(tmp_path, "age,g1,g2\n1,no,beads\n2,maybe,one pool\n", mapping) == [
        (2, "g2", "table.pool_before_parting"),
        (3, "g1", "value.not_a_grade"),
        (3, "g2", "table.pool_before_parting"),
    ]


def test_a_constant_number_gets_a_range_around_its_value(tmp_path: Path) -> None:
    mapping = TableMapping((FactorColumn("t", "C"), FactorColumn("zero")), outcome="y", success=("1",))
    content = _read(tmp_path, "t,zero,y\n150,0,1\n150,0,0\n", mapping)
    assert content.constant == ("t", "zero")
    assert content.factors[0].bounds == (135.0, 165.0)
    assert content.factors[1].bounds == (-1.0, 1.0)


@pytest.mark.parametrize(
    ("text", "mapping", "code"),
    [
        (SIMPLE, TableMapping((), outcome="result", success=("yes",)), "table.mapping_no_factor"),
        (SIMPLE, TableMapping((FactorColumn("age"),)), "table.mapping_result"),
        (SIMPLE, TableMapping((FactorColumn("age"),), outcome="result"), "table.mapping_result"),
        (SIMPLE, TableMapping((FactorColumn("age"),), parted="result"), "table.mapping_result"),
        (
            SIMPLE,
            TableMapping((FactorColumn("age"),), outcome="result", success=("yes",), trials="age"),
            "table.mapping_result",
        ),
        (
            SIMPLE,
            TableMapping((FactorColumn("colour"),), outcome="result", success=("yes",)),
            "table.column_unknown",
        ),
        (
            SIMPLE,
            TableMapping((FactorColumn("Age"), FactorColumn("age")), outcome="result", success=("yes",)),
            "table.factor_twice",
        ),
        ("age,kind,result\n", BY_AGE, "table.empty"),
        ("", BY_AGE, "table.empty"),
        ("age,kind,result\n1,swirl\n", BY_AGE, "table.ragged"),
        ("age,age,result\n1,2,yes\n", BY_AGE, "table.column_repeats"),
        ("age,kind,result\n,swirl,yes\n,press,no\n", BY_AGE, "table.column_blank"),
        ('age,kind,result\n1,"swirl,yes\n', BY_AGE, "table.quotes"),
        (
            "age,kind,result\n" + "".join(f"1,{chr(65 + i)}{chr(65 + i)},yes\n" for i in range(26)),
            BY_AGE,
            "table.too_many_levels",
        ),
    ],
)
def test_a_table_that_cannot_be_used_says_why(tmp_path: Path, text: str, mapping: TableMapping, code: str) -> None:
    with pytest.raises(InputError) as caught:
        _read(tmp_path, text, mapping)
    assert caught.value.code == code


def test_a_file_that_is_no_text_or_not_there_is_refused(tmp_path: Path) -> None:
    workbook = tmp_path / "book.xlsx"
    workbook.write_bytes(b"PK\x03\x04 and more")
    with pytest.raises(FileTroubleError) as caught:
        read_text_table(workbook)
    assert caught.value.code == "table.not_text"
    with pytest.raises(FileTroubleError) as caught:
        read_text_table(tmp_path / "nowhere.csv")
    assert caught.value.code == "table.not_there"


@given(data=st.binary(max_size=200))
def test_any_bytes_give_a_table_or_an_error_of_ours(tmp_path_factory: pytest.TempPathFactory, data: bytes) -> None:
    path = tmp_path_factory.mktemp("bytes") / "table.csv"
    path.write_bytes(data)
    try:
        table = read_text_table(path)
    except (InputError, FileTroubleError):
        return
    assert all(len(row) == len(table.header) for row in table.rows)


@given(
    numbers=st.lists(
        st.tuples(st.floats(min_value=-1e6, max_value=1e6), st.booleans()),
        min_size=2,
        max_size=30,
        unique_by=lambda pair: pair[0],
    ),
    layout=st.sampled_from([(",", "."), (";", "."), (";", ","), ("\t", ",")]),
)
def test_numbers_survive_every_delimiter_and_decimal_sign(
    tmp_path_factory: pytest.TempPathFactory, numbers: list[tuple[float, bool]], layout: tuple[str, str]
) -> None:
    delimiter, decimal = layout
    numbers = [(numbers[0][0], True), *numbers[1:]]
    lines = [delimiter.join((f"{value:.6f}".replace(".", decimal), "1" if hit else "0")) for value, hit in numbers]
    mapping = TableMapping((FactorColumn("x", "g"),), outcome="y", success=("1",))
    text = delimiter.join(("x", "y")) + "\n" + "\n".join(lines)
    content = _read(tmp_path_factory.mktemp("layout"), text, mapping)
    assert [attempt.conditions["x"] for attempt in content.attempts] == pytest.approx(
        [value for value, _ in numbers], abs=1e-6
    )
    assert [attempt.successes for attempt in content.attempts] == [int(hit) for _, hit in numbers]
