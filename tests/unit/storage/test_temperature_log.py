"""Temperature logs as loggers write them: what is told is read, what is unclear is asked, nothing is guessed."""

from __future__ import annotations

import io
import os
import time
from contextlib import suppress
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tables_of_attempts import workbook

from stirfall.bench.errors import FileTroubleError, InputError
from stirfall.reporting.sentences import sentence
from stirfall.storage.log_times import SystemZone
from stirfall.storage.temperature_log import LogReading, read_points, read_temperature_log, scan_log

START = datetime(2026, 11, 24, 9, 30, tzinfo=UTC)
BERLIN = ZoneInfo("Europe/Berlin")


def read(text: str, *, zone: object = UTC, encoding: str = "utf-8", **answers: str) -> LogReading:
    return read_temperature_log(
        text.encode(encoding),
        zone=zone,  # type: ignore[arg-type]
        start=START,
        answers=answers,
        name="log.csv",
    )


def values(found: LogReading) -> list[float]:
    assert found.questions == ()
    return [round(value, 3) for _, value in found.points]


def minutes(found: LogReading) -> list[float]:
    assert found.questions == ()
    return [(at - START).total_seconds() / 60 for at, _ in found.points]


def asked(found: LogReading) -> dict[str, list[str]]:
    for question in found.questions:  # every word of it has its sentence
        for reason in (question.why, *(option.words for option in question.options)):
            assert not sentence(reason.code, reason.params).startswith(reason.code)
    return {question.key: [option.key for option in question.options] for question in found.questions}


def noted(found: LogReading) -> dict[str, object]:
    return {note.code.removeprefix("logger.note_"): note.params.get("count") for note in found.notes}


ISO = "Time,Temp (°C)\n2026-11-24 09:30:00,20.0\n2026-11-24 09:31:00,21.5\n2026-11-24 09:32:00,23.0\n"


def test_a_plain_table_is_read_without_a_question() -> None:
    found = read(ISO)
    assert values(found) == [20.0, 21.5, 23.0]
    assert minutes(found) == [0.0, 1.0, 2.0]
    assert found.notes == ()


@pytest.mark.parametrize(
    "stamps",
    [
        ("2026-11-24T09:30:00Z", "2026-11-24T09:31:00Z"),
        ("2026-11-24T10:30:00+01:00", "2026-11-24T10:31:00+01:00"),
        ("2026-11-24T10:30:00.000+0100", "2026-11-24T10:31:00.000+0100"),
        ("20261124T093000Z", "20261124T093100Z"),
        ("24-Nov-2026 09:30", "24-Nov-2026 09:31"),
        ("24 Nov 2026 09:30:00", "24 Nov 2026 09:31:00"),
        ("Nov 24, 2026 09:30:00", "Nov 24, 2026 09:31:00"),
        ("24/Nov/2026 09:30", "24/Nov/2026 09:31"),
        ("24.11.2026 09:30:00", "24.11.2026 09:31:00"),
        ("11/24/2026 9:30:00 AM", "11/24/2026 9:31:00 AM"),
        ("11/24/26 09:30", "11/24/26 09:31"),
        ("2026/11/24 09:30:00", "2026/11/24 09:31:00"),
        ("1795512600", "1795512660"),
        ("1795512600000", "1795512660000"),
    ],
)
def test_each_way_to_write_a_moment(stamps: tuple[str, str]) -> None:
    first, second = stamps
    found = read(f"when;bath [°C]\n{first};120\n{second};121\n{second.replace('31', '31')};121\n")
    assert minutes(found) == [0.0, 1.0]


@pytest.mark.parametrize("delimiter", ["\t", ";", "|", ","])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "cp1252"])
def test_each_delimiter_and_each_encoding(delimiter: str, encoding: str) -> None:
    assert values(read(ISO.replace(",", delimiter), encoding=encoding)) == [20.0, 21.5, 23.0]


@pytest.mark.parametrize("delimiter", ["\t", ";", "|"])
def test_a_decimal_comma(delimiter: str) -> None:
    text = ISO.replace(",", delimiter).replace("20.0", "20,25").replace("21.5", "1.021,5").replace("23.0", "−3,5")
    assert values(read(text)) == [20.25, 1021.5, -3.5]


def test_a_quoted_decimal_comma_between_commas() -> None:
    assert values(read('Time,T (C)\n"2026-11-24 09:30:00","20,25"\n"2026-11-24 09:31:00","21,5"\n')) == [
        20.25,
        21.5,
    ]


def test_blanks_between_columns_with_date_and_time_apart() -> None:
    found = read("2026-11-24 09:30:00  20.5 °C\n".replace(" °C", "C") + "2026-11-24 09:31:00  21.5C\n" * 1)
    assert values(found) == [20.5, 21.5]
    assert minutes(found) == [0.0, 1.0]


def test_lines_above_the_table_are_skipped_and_name_the_unit() -> None:
    head = "Logger 7\nSerial: 4711\nUnit: Celsius\n\nDate;Time;Probe\n"
    text = f"{head}24.11.2026;09:30:00;20,5\n24.11.2026;09:31:00;21\n"
    found = read(text)
    assert values(found) == [20.5, 21.0]
    assert minutes(found) == [0.0, 1.0]


def test_a_line_of_units_below_the_names() -> None:
    found = read("Time,Bath,Room\ns,°F,%\n0,212,40\n60,302,41\n120,302,41\n")
    assert values(found) == [100.0, 150.0, 150.0]
    assert minutes(found) == [0.0, 1.0, 2.0]


@pytest.mark.parametrize(
    ("header", "value", "celsius"),
    [
        ("T/K", "373.15", 100.0),
        ("Temp (F)", "212", 100.0),
        ("temp_F", "212", 100.0),
        ("Temperature °F", "212", 100.0),
        ("Temperature [deg C]", "100", 100.0),
        ("bath Celsius", "100", 100.0),
        ("type K, °C", "100", 100.0),
        ("Temp C", "100", 100.0),
    ],
)
def test_units_in_headers(header: str, value: str, celsius: float) -> None:
    found = read(f"time [min];{header}\n0;{value}\n1;{value}\n")
    assert values(found) == pytest.approx([celsius, celsius])


@pytest.mark.parametrize("header", ["Probe", "T1 (type K)", "Type-K", "TC K", "Channel C", "K-type/K"])
def test_a_header_that_names_no_unit_is_asked_about(header: str) -> None:
    found = read(f"time [min];{header}\n0;100\n1;100\n")
    assert asked(found) == {"unit": ["C", "F", "K"]}
    assert values(read(f"time [min];{header}\n0;212\n1;212\n", unit="F")) == [100.0, 100.0]


def test_a_date_that_may_be_two_days_is_asked_about_and_the_answer_counts() -> None:
    text = "Time,T (C)\n03/04/2026 10:00,20\n03/04/2026 10:01,21\n"
    found = read(text)
    assert asked(found) == {"dates": ["day-first", "month-first"]}
    assert [option.words.params["day"] for option in found.questions[0].options] == ["2026-04-03", "2026-03-04"]
    assert read(text, dates="day-first").points[0][0] == datetime(2026, 4, 3, 10, tzinfo=UTC)
    assert read(text, dates="month-first").points[0][0] == datetime(2026, 3, 4, 10, tzinfo=UTC)
    assert "away" in noted(read(text, dates="day-first"))
    with pytest.raises(InputError, match=r"logger\.answer"):
        read(text, dates="year-first")


def test_dots_are_asked_about_as_well_and_two_digits_may_be_the_year() -> None:
    assert asked(read("t;C (°C)\n03.04.2026 10:00;1\n03.04.2026 10:01;1\n")) == {
        "dates": ["day-first", "month-first"]
    }
    many = read("t;C (°C)\n03.04.05 10:00;1\n03.04.05 10:01;1\n")
    assert asked(many) == {"dates": ["day-first", "month-first", "year-first"]}


def test_a_date_that_is_the_same_either_way_or_is_told_by_another_line_is_not_asked_about() -> None:
    assert values(read("t;T (°C)\n04.04.2026 10:00;1\n04.04.2026 10:01;2\n")) == [1.0, 2.0]
    over_midnight = read("t;T (°C)\n12/11/2026 23:59;1\n13/11/2026 00:01;2\n")
    assert over_midnight.points[0][0].day == 12


def test_dates_in_no_order_are_refused() -> None:
    with pytest.raises(InputError, match=r"logger\.dates_mixed"):
        read("t;T (°C)\n13/01/2026 10:00;1\n01/13/2026 10:01;2\n01/13/2026 10:01;2\n")


def test_times_of_day_take_the_day_that_brings_them_to_the_start_and_pass_midnight() -> None:
    found = read("Time,T (C)\n09:30:00,1\n09:45:00,2\n09:50:00,2\n")
    assert minutes(found) == [0.0, 15.0, 20.0]
    late = read("Time,T (C)\n23:50:00,1\n00:10:00,2\n00:20:00,2\n")  # the start is 09:30, so the evening before
    assert minutes(late) == [-580.0, -560.0, -550.0]
    in_berlin = read("Time,T (C)\n10:30:00,1\n10:45:00,2\n10:50:00,2\n", zone=BERLIN)
    assert minutes(in_berlin) == [0.0, 15.0, 20.0]


def test_a_clock_from_the_start_counts_from_the_start() -> None:
    assert minutes(read("Time,T (C)\n00:00:00,1\n00:00:30,2\n01:00:00,2\n")) == [0.0, 0.5, 60.0]
    assert minutes(read("Elapsed,T (C)\n02:00:00,1\n02:00:30,2\n25:00:00,2\n")) == [120.0, 120.5, 1500.0]


def test_short_clocks_are_asked_about_unless_they_cannot_be_hours() -> None:
    text = "Time,T (C)\n01:00,1\n02:30,2\n03:00,2\n"
    assert asked(read(text)) == {"time": ["elapsed min:s", "elapsed", "clock"]}
    assert minutes(read(text, time="elapsed min:s")) == [1.0, 2.5, 3.0]
    assert minutes(read(text, time="elapsed")) == [60.0, 150.0, 180.0]
    assert minutes(read("Time,T (C)\n01:00,1\n02:30,2\n75:00,2\n")) == [1.0, 2.5, 75.0]


def test_numbers_from_the_start_in_the_unit_of_the_header_or_as_answered() -> None:
    assert minutes(read("Elapsed (s),T (C)\n0,1\n90,2\n120,3\n")) == [0.0, 1.5, 2.0]
    assert minutes(read("time_min,T (C)\n0,1\n1.5,2\n3,3\n")) == [0.0, 1.5, 3.0]
    text = "0,1\n90,2\n120,3\n"
    assert asked(read(text)) == {"time": ["s", "min", "h"], "unit": ["C", "F", "K"]}
    assert minutes(read(text, time="s", unit="C")) == [0.0, 1.5, 2.0]


def test_day_numbers_of_a_spreadsheet_are_an_answer() -> None:
    # 24 November 2026 is day 46350 where 1 January 2000 is day 36526 (ECMA-376, 1900 date system; by hand).
    text = "Time,T (C)\n46350.395833333,20\n46350.396527778,21\n46350.397222222,22\n"
    assert asked(read(text)) == {"time": ["day numbers", "s", "min", "h"]}
    assert minutes(read(text, time="day numbers")) == pytest.approx([0.0, 1.0, 2.0], abs=1e-3)


def test_a_decimal_comma_between_commas_is_told_by_the_header() -> None:
    lines = "2026-11-24 09:30:00,20,5,1,25\n2026-11-24 09:31:00,21,5,1,50\n2026-11-24 09:32:00,22,5,1,75\n"
    assert values(read(f"Time,Bath °C,RH %\n{lines}")) == [20.5, 21.5, 22.5]
    # Without the header nobody can tell: then each column is offered.
    assert asked(read(lines))["channel"] == ["2", "3", "4", "5"]


def test_a_count_of_lines_is_no_time() -> None:
    found = read("No.,Time,T (C)\n1,2026-11-24 09:30:00,20\n2,2026-11-24 09:31:00,21\n3,2026-11-24 09:32:00,22\n")
    assert values(found) == [20.0, 21.0, 22.0]


def test_several_temperatures_are_asked_about_with_their_range() -> None:
    text = "Time (s),Bath (C),Room (C),RH (%)\n0,100,20,40\n60,151.5,21,41\n120,150,21,41\n"
    found = read(text)
    assert asked(found) == {"channel": ["2", "3"]}
    assert found.questions[0].options[0].words.params == {"name": "Bath (C)", "low": 100.0, "high": 151.5}
    assert values(read(text, channel="3")) == [20.0, 21.0, 21.0]


def test_error_values_are_gaps_that_are_told() -> None:
    cells = ["20", "OL", "----", "", "9.9E37", "-999", "NaN", "21"]
    lines = [f"2026-11-24 09:{30 + place}:00;{cell}" for place, cell in enumerate(cells)]
    found = read("Time;T (°C)\n" + "\n".join(lines) + "\n")
    assert values(found) == [20.0, 21.0]
    assert noted(found) == {"gaps": 4, "impossible": 2}
    assert found.gaps == 6


@pytest.mark.parametrize("beyond", ["1e18", "1e308", "3e9"])
def test_a_time_that_no_calendar_holds_is_a_line_left_out(beyond: str) -> None:
    found = read(f"Elapsed h;T (°C)\n0;20\n{beyond};21\n")
    assert values(found) == [20.0]
    assert noted(found)["left_out"] == 1


def test_unsorted_and_repeated_stamps_and_lines_without_a_time_are_told() -> None:
    text = (
        "Time;T (°C)\n2026-11-24 09:31:00;21\n2026-11-24 09:30:00;20\n2026-11-24 09:31:00;23\n"
        "Time;T (°C)\n2026-11-24 09:32:00;24\n\nEnd of log\n"
    )
    found = read(text)
    assert values(found) == [20.0, 22.0, 24.0]
    assert noted(found) == {"unsorted": 1, "repeated": 1, "left_out": 2}


def test_a_clock_that_was_set_back_in_autumn_keeps_its_order() -> None:
    # 25 October 2026, 03:00 summer time becomes 02:00 (IANA time zone database, Europe/Berlin).
    text = (
        "Time;T (°C)\n2026-10-25 02:30:00;1\n2026-10-25 02:50:00;2\n2026-10-25 02:10:00;3\n2026-10-25 03:10:00;4\n"
    )
    found = read(text, zone=BERLIN)
    assert values(found) == [1.0, 2.0, 3.0, 4.0]
    assert [at.hour * 60 + at.minute for at, _ in found.points] == [30, 50, 70, 130]
    assert "unsorted" not in noted(found)


@pytest.mark.parametrize(
    ("data", "code"),
    [
        (b"", "logger.empty"),
        (b"\n \n;;\n", "logger.empty"),
        (b"PK\x03\x04rest", "import.zip_broken"),
        (b"%PDF rest", "logger.not_text"),
        (b"just words\nand more words\n", "logger.no_columns"),
        (b"alpha,beta\ngamma,delta\n", "logger.no_columns"),
        (b"2026-11-24 09:30:00;OL\n2026-11-24 09:31:00;OL\n", "logger.no_temperatures"),
    ],
)
def test_what_is_no_log_is_refused_with_the_reason(data: bytes, code: str) -> None:
    with pytest.raises(InputError) as caught:
        scan_log(data, name="x.csv")
    assert caught.value.code == code
    assert sentence(code, caught.value.params) != code


def test_a_start_that_is_unknown_is_told_where_it_is_needed() -> None:
    with pytest.raises(InputError, match=r"logger\.no_start"):
        read_temperature_log(b"Time (s),T (C)\n0,1\n60,2\n", zone=UTC, start=None)
    assert len(read_temperature_log(ISO.encode(), zone=UTC, start=None).points) == 3


def test_a_file_is_read_by_its_path_and_a_missing_one_is_told(tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_text(ISO, encoding="utf-8")
    assert len(read_temperature_log(tmp_path / "a.csv", zone=UTC, start=START).points) == 3
    with pytest.raises(FileTroubleError, match=r"logger\.unreadable"):
        read_temperature_log(tmp_path / "b.csv", zone=UTC, start=START)


@given(
    st.lists(
        st.tuples(st.integers(1, 4000), st.floats(-50, 400).map(lambda x: round(x, 2))), min_size=3, max_size=30
    ),
    st.sampled_from(["%Y-%m-%d %H:%M:%S", "%d.%m.%Y %H:%M:%S", "%m/%d/%Y %I:%M:%S %p"]),
    st.sampled_from(["\t", ";"]),
    st.booleans(),
)
def test_any_table_is_read_as_an_independent_program_reads_it(
    steps: list[tuple[int, float]],
    shape: str,
    delimiter: str,
    comma: bool,
) -> None:
    at, lines = START, [f"Time{delimiter}T (°C)"]
    for seconds, value in steps:
        at += timedelta(seconds=seconds)
        number = f"{value:.2f}".replace(".", "," if comma else ".")
        lines.append(f"{at.strftime(shape)}{delimiter}{number}")
    text = "\n".join(lines)
    # Witness: pandas, told of what this reader has to find out.
    table = pd.read_csv(io.StringIO(text), sep=delimiter, decimal="," if comma else ".")
    moments = pd.to_datetime(table["Time"], format=shape, utc=True)
    found = read(text)
    assert [moment for moment, _ in found.points] == [moment.to_pydatetime() for moment in moments]
    assert values(found) == pytest.approx(list(table["T (°C)"]))


@given(st.text(alphabet="0123456789:;,.-/ \tTOLCK°\n", max_size=300))
def test_no_text_makes_it_fail_in_another_way_than_by_saying_why(text: str) -> None:
    with suppress(InputError):
        read(text)


def test_a_long_log_is_read_whole() -> None:
    # 100,000 lines took 0.6 s of one core when this was written; here only that nothing is lost.
    lines = [f"{START + timedelta(seconds=2 * i):%Y-%m-%d %H:%M:%S},{150 + i % 70 / 10}" for i in range(10_000)]
    found = read("Time,T (C)\n" + "\n".join(lines), zone=BERLIN)
    assert len(found.points) == 10_000


@pytest.mark.skipif(not hasattr(time, "tzset"), reason="the zone of a process can be set on Unix only")
@given(st.datetimes(datetime(2020, 1, 1), datetime(2030, 1, 1)), st.sampled_from([0, 1]))  # noqa: DTZ001
def test_the_zone_of_this_computer_is_that_of_the_time_zone_database(local: datetime, fold: int) -> None:
    before = os.environ.get("TZ")
    os.environ["TZ"] = "Europe/Berlin"
    time.tzset()
    try:
        # Witness: zoneinfo, which reads the IANA database itself. The hour that spring leaves out is not asked.
        there, ours = (local.replace(tzinfo=zone, fold=fold) for zone in (BERLIN, SystemZone()))
        if there.astimezone(UTC).astimezone(BERLIN).replace(fold=fold) == there:
            assert ours.utcoffset() == there.utcoffset()
            assert there.astimezone(UTC).astimezone(ours.tzinfo).replace(tzinfo=None) == local
    finally:
        os.environ.pop("TZ")
        if before is not None:
            os.environ["TZ"] = before
        time.tzset()


# -- hostile files and workbooks ----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("data", "code"),
    [
        ((b";".join([b"1"] * 1_200) + b"\n") * 5, "logger.too_many_columns"),
        (b",".join([b"1"] * 1_000_000), "logger.line_too_long"),
        (b'Time;T (C)\n2026-03-14 10:00:00;"' + b"x" * 99_000 + b"\n" + b"x" * 90_000, "logger.quotes"),
        (b"\x1f\x8b gzip", "logger.not_text"),
        (b"PK\x05\x06" + b"\0" * 18, "logger.not_text"),
    ],
)
def test_a_hostile_log_gets_a_message(data: bytes, code: str) -> None:
    with pytest.raises(InputError) as caught:
        scan_log(data, name="x.csv")
    assert caught.value.code == code
    assert sentence(code, caught.value.params) != code


def test_a_log_of_too_many_lines_gets_a_message(monkeypatch: pytest.MonkeyPatch) -> None:
    from stirfall.storage import log_table

    assert log_table.MOST_LINES == 1_000_000
    monkeypatch.setattr(log_table, "MOST_LINES", 3)
    with pytest.raises(InputError, match="too_many_lines"):
        scan_log(b"Time;T (C)\n10:00:00;1\n10:01:00;2\n10:02:00;3\n", name="x.csv")


def test_a_time_of_day_that_is_none_gives_no_reading() -> None:
    found = read("Time;T (°C)\n2026-03-14 10:00:00;1\n2026-03-14 10:99:00;2\n2026-03-14 34:00:00;3\n")
    assert values(found) == [1.0]
    assert "left_out" in noted(found)


def test_a_workbook_is_read_like_the_text_of_its_fullest_sheet() -> None:
    start = datetime(2026, 3, 14, 10, tzinfo=UTC).replace(tzinfo=None)
    rows = [[start + timedelta(minutes=at), 20.5 + at] for at in range(20)]
    data = workbook(("about", [["logger 7"]]), ("log", [["Time", "T (°C)"], *rows, [start, "=B2"]]))
    found = read_points(scan_log(data, name="log.xlsx"), zone=UTC, start=None)
    assert values(found) == [20.5 + at for at in range(20)]
    assert found.points[0][0] == datetime(2026, 3, 14, 10, tzinfo=UTC)
    assert "gaps" in noted(found)  # a formula is no reading
