"""Ids of labels: what is mixed up is noticed, nothing looks alike, nothing repeats."""

from __future__ import annotations

from itertools import combinations, pairwise, permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stirfall.bench.errors import InputError
from stirfall.bench.short_ids import (
    ALPHABET,
    LOOK_ALIKES,
    SHORTEST,
    check_character,
    check_value,
    is_short_id,
    new_short_id,
    read_short_id,
)

BODIES = [a + b + c for a in "ADKY" for b in ALPHABET for c in ALPHABET]


def test_the_alphabet_is_a_prime_number_of_characters_and_no_two_of_a_group_are_in_it() -> None:
    assert len(set(ALPHABET)) == len(ALPHABET) == 23
    assert all(23 % divisor for divisor in range(2, 23))
    assert [group for group in LOOK_ALIKES if len(set(group) & set(ALPHABET)) > 1] == []


# Source: ISO 2108, the check digit of ISBN-10, a weighted sum modulo 11. The example 0-306-40615-2 is the usual one
# (from memory); its check digit is worked out here by hand: 3*9+0*8+6*7+4*6+0*5+6*4+1*3+5*2 = 130 and 132 = 12*11.
def test_the_check_is_that_of_isbn_with_another_prime() -> None:
    assert check_value([0, 3, 0, 6, 4, 0, 6, 1, 5], 11) == 2


def test_every_single_wrong_character_is_noticed() -> None:
    # By the theory it holds for every body; here for a tenth of all, each with all its 88 neighbours.
    for body in BODIES[::9]:
        code = body + check_character(body)
        assert is_short_id(code)
        for place in range(len(code)):
            for other in ALPHABET.replace(code[place], ""):
                assert not is_short_id(code[:place] + other + code[place + 1 :])


def test_every_single_wrong_character_and_every_swap_is_noticed_as_weights_and_differences_tell() -> None:
    # Exhaustive in the differences: a wrong character at weight w changes the sum by w*d, a swap by (v-w)*d.
    for length in range(2, 23):
        weights = range(1, length + 1)
        changes = {weight * d % 23 for weight in weights for d in range(1, 23)}
        swaps = {(v - w) * d % 23 for v, w in combinations(weights, 2) for d in range(1, 23)}
        assert 0 not in changes | swaps


def test_every_swap_of_two_characters_is_noticed() -> None:
    for body in BODIES:
        code = body + check_character(body)
        for first, second in combinations(range(len(code)), 2):
            if code[first] != code[second]:
                swapped = list(code)
                swapped[first], swapped[second] = code[second], code[first]
                assert not is_short_id("".join(swapped))


def test_any_two_ids_of_a_length_differ_in_two_places_at_least() -> None:
    codes = [body + check_character(body) for body in BODIES[:200]]
    assert min(sum(a != b for a, b in zip(x, y, strict=True)) for x, y in permutations(codes, 2)) == 2


def test_new_ids_are_valid_differ_from_their_neighbours_everywhere_and_come_again_for_the_same_shelf() -> None:
    taken: list[str] = []
    for _ in range(60):
        code = new_short_id(taken)
        assert code == new_short_id(tuple(reversed(taken)))
        assert is_short_id(code)
        assert len(code) == SHORTEST
        assert code not in taken
        assert code[0].isalpha()
        taken.append(code)
    assert all(a != b for x, y in pairwise(taken) for a, b in zip(x[:3], y[:3], strict=True))


def test_another_session_begins_elsewhere() -> None:
    assert new_short_id((), salt="first") != new_short_id((), salt="second")
    assert new_short_id((), salt="first") == new_short_id((), salt="first")


def test_ids_that_people_chose_themselves_are_not_given_again() -> None:
    first = new_short_id(())
    assert new_short_id([f" {first.lower()} ", "J1", "my jar"]) not in (first, "J1")


def test_when_all_short_ids_are_taken_the_next_are_longer() -> None:
    bodies = (a + b + c for a in ALPHABET for b in ALPHABET for c in ALPHABET)
    taken = {body + check_character(body) for body in bodies}
    longer = new_short_id(taken)
    assert len(longer) == SHORTEST + 1
    assert is_short_id(longer)


def test_the_last_free_id_is_found() -> None:
    bodies = (a + b + c for a in ALPHABET if a.isalpha() for b in ALPHABET for c in ALPHABET)
    taken = {body + check_character(body) for body in bodies}
    gap = sorted(taken)[4711]
    assert new_short_id(taken - {gap}) == gap


def test_letter_case_spaces_and_hyphens_do_not_matter() -> None:
    code = new_short_id(())
    for typed in (
        code.lower(),
        f" {code[:2]} {code[2:]}\t",
        f"{code[:2]}-{code[2:]}",
        f"{code[0]}\u2013{code[1:]}",
    ):
        assert read_short_id(typed) == code


def test_what_is_wrong_is_said() -> None:
    code = new_short_id(())
    wrong = code[:-1] + next(each for each in ALPHABET if each != code[-1])
    for text, expected in ((wrong, "id.check"), (code[:2], "id.check"), ("", "id.check"), ("A0CD", "id.character")):
        with pytest.raises(InputError) as caught:
            read_short_id(text)
        assert caught.value.code == expected


@settings(max_examples=60, deadline=None)
@given(st.text(ALPHABET, min_size=3, max_size=21), st.data())
def test_longer_ids_notice_wrong_characters_and_swaps_too(body: str, data: st.DataObject) -> None:
    code = body + check_character(body)
    assert read_short_id(code.lower()) == code
    place = data.draw(st.integers(0, len(code) - 2))
    other = data.draw(st.sampled_from([each for each in ALPHABET if each != code[place]]))
    assert not is_short_id(code[:place] + other + code[place + 1 :])
    if code[place] != code[place + 1]:
        assert not is_short_id(code[:place] + code[place + 1] + code[place] + code[place + 2 :])


@settings(max_examples=60, deadline=None)
@given(st.text(max_size=12))
def test_any_text_is_read_or_refused(text: str) -> None:
    try:
        code = read_short_id(text)
    except InputError:
        return
    assert is_short_id(code)
