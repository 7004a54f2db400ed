"""Codes that a scanner types: any id comes back, on any layout, and nothing half read is taken."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stirfall.bench.scan_codes import (
    ACT_KEYS,
    LETTERS,
    ScanCode,
    act_code,
    attempt_code,
    jar_code,
    lot_code,
    read_code,
)
from stirfall.bench.short_ids import new_short_id

# What the same key gives when a scanner believes in a US keyboard and the computer is set to a German or a French
# one (standard layouts, from memory).
GERMAN = str.maketrans("YZyz", "ZYzy")
FRENCH = str.maketrans("AQWZMaqwzm", "QAZW?qazw,")


def test_each_kind_comes_back() -> None:
    assert read_code(jar_code("K7P3")) == ScanCode("jar", "K7P3")
    assert read_code(lot_code("L1")) == ScanCode("lot", "L1")
    assert read_code(attempt_code(12)) == ScanCode("attempt", "12")
    assert [read_code(act_code(key)) for key in ACT_KEYS] == [ScanCode("act", key) for key in ACT_KEYS]


def test_codes_begin_with_their_kind() -> None:
    codes = [jar_code("x"), attempt_code(1), lot_code("x"), act_code("NEXT")]
    assert [code[:3] for code in codes] == ["SFJ", "SFA", "SFL", "SFK"]


@pytest.mark.parametrize("jar_id", ["J1", "J-1 b", "Krug 7/ä", "瓶 3", "0", "sfj"])
def test_own_ids_work_and_keep_their_letter_case(jar_id: str) -> None:
    code = jar_code(jar_id)
    assert code.isascii()
    assert code.isalpha()
    assert code.isupper()
    assert read_code(code) == ScanCode("jar", jar_id)


@pytest.mark.parametrize("layout", [GERMAN, FRENCH], ids=["QWERTZ", "AZERTY"])
def test_another_keyboard_layout_and_the_caps_lock_change_nothing(layout: dict[int, int]) -> None:
    for code in (jar_code("AMQWYZ 0123456789"), attempt_code(1027), lot_code("Lot A"), *map(act_code, ACT_KEYS)):
        for typed in (code, code.lower()):
            assert read_code(typed.translate(layout)) == read_code(code) is not None


def test_every_wrong_letter_every_swap_of_neighbours_and_every_lost_letter_is_noticed() -> None:
    code = jar_code(new_short_id(()))
    assert read_code(f" {code}\r\n") is not None
    for place in range(2, len(code)):
        assert read_code(code[:place] + code[place + 1 :]) is None
        for other in (LETTERS + "XAQMWYZ01").replace(code[place], ""):
            assert read_code(code[:place] + other + code[place + 1 :]) is None
    for place in range(len(code) - 1):
        if code[place] != code[place + 1]:
            assert read_code(code[:place] + code[place + 1] + code[place] + code[place + 2 :]) is None


@pytest.mark.parametrize("text", ["", "SF", "SFJ", "SFJB", "152", "SFX", "hello", "SFJBCB", act_code("DONE")[:-1]])
def test_what_is_no_code_is_left_alone(text: str) -> None:
    assert read_code(text) is None


def test_a_whole_code_that_means_nothing_is_refused() -> None:
    from stirfall.bench import scan_codes

    assert read_code(scan_codes._write("A", "twelve")) is None
    assert read_code(scan_codes._write("K", "EXPLODE")) is None
    with pytest.raises(ValueError, match="EXPLODE"):
        act_code("EXPLODE")


@settings(max_examples=80, deadline=None)
@given(st.text(min_size=1, max_size=30))
def test_any_id_comes_back(jar_id: str) -> None:
    try:
        jar_id.encode("utf-8")
    except UnicodeEncodeError:
        return
    assert read_code(jar_code(jar_id)) == ScanCode("jar", jar_id)


@settings(max_examples=80, deadline=None)
@given(st.text(max_size=30))
def test_any_text_may_arrive(text: str) -> None:
    read_code(text)
    read_code("SFJ" + text)
