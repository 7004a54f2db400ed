"""Issued recipes in a session: kept to the letter through file, undo, package and back."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions
from stirfall.reporting.recipe import Recipe, make_recipe
from stirfall.reporting.recipe_issue import issued_of, shown_again
from stirfall.reporting.recipe_text import recipe_text
from stirfall.session.analysis import analyse
from stirfall.session.clock import FixedClock
from stirfall.session.commands import IssueRecipe, StrikeAttempt
from stirfall.session.document import Document
from stirfall.session.packages import content_of, session_of
from stirfall.session.samples import open_sample
from stirfall.storage.package import read_package, write_package_folder

NOW = datetime(2027, 1, 15, 9, 30, tzinfo=UTC)


@pytest.fixture
def document(tmp_path: Path) -> Document:
    return open_sample("gallium-beads", tmp_path / "beads.stirfall", clock=FixedClock(NOW))


def _recipe(document: Document) -> Recipe:
    state = document.state
    return make_recipe(
        analyse(state),
        Conditions({each.name: each.middle for each in state.factors}),
        fingerprint=document.fingerprint,
        session_name=document.path.name,
        created_at=document.now(),
    )


def test_an_issued_recipe_is_the_same_after_reopening_and_whatever_is_recorded_later(
    document: Document, tmp_path: Path
) -> None:
    made = _recipe(document)
    kept_before = document.fingerprint
    document.execute(IssueRecipe(issued_of(made, note="why")))
    assert document.fingerprint == kept_before  # what left the program says nothing new about the metal
    document.execute(StrikeAttempt(document.state.attempts[0].id, "spilt"))
    document.close()
    with Document.open(tmp_path / "beads.stirfall", read_only=True) as again:
        (issued,) = again.state.recipes
        assert (issued.number, issued.note, issued.issued_at) == (1, "why", NOW)
        assert issued.fingerprint == kept_before
        shown = shown_again(issued)
        for suffix in (".json", ".md"):
            assert recipe_text(shown, suffix).replace(" (issued no. 1)", "") == recipe_text(made, suffix)


def test_a_recipe_can_be_taken_back_and_the_numbers_go_on(document: Document) -> None:
    made = _recipe(document)
    for note in ("first", "second"):
        document.execute(IssueRecipe(issued_of(made, note=note)))
    document.undo()
    assert [each.note for each in document.state.recipes] == ["first"]
    document.execute(IssueRecipe(issued_of(made, note="third")))
    assert [each.number for each in document.state.recipes] == [1, 2]
    document.close()


def test_a_package_carries_issued_recipes_to_the_letter(document: Document, tmp_path: Path) -> None:
    document.execute(IssueRecipe(issued_of(_recipe(document), note="for “others”, with commas\nand lines")))
    issued = document.state.recipes
    folder = tmp_path / "package"
    write_package_folder(content_of(document), folder)
    document.close()
    with session_of(
        read_package(folder), tmp_path / "again.stirfall", clock=FixedClock(NOW + timedelta(days=1))
    ) as back:
        assert back.state.recipes == issued
        assert shown_again(back.state.recipes[0]) == shown_again(issued[0])


def test_what_is_no_json_is_not_kept(document: Document) -> None:
    with pytest.raises(InputError) as caught:
        document.execute(IssueRecipe(replace(issued_of(_recipe(document)), document="[1, 2]")))
    assert caught.value.code == "recipe.not_json"
    document.close()
