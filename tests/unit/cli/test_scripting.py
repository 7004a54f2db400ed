from __future__ import annotations

import json
import re
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

import stirfall
from stirfall import Campaign, Factor
from stirfall.bench.errors import FileTroubleError, InputError, StirfallError
from stirfall.bench.outcomes import Outcome, Parted, Pooled
from stirfall.bench.records import Jar
from stirfall.reporting.sentences import error_sentence
from stirfall.session.commands import AddJar

AGE = Factor("sample age", unit="h", low=1, high=240, scale="log")
BATH = Factor("temperature", unit="C", low=145, high=170)


@pytest.fixture
def campaign(tmp_path: Path) -> Campaign:
    path = tmp_path / "bench.stirfall"
    return Campaign.new(path, factors=[AGE, BATH], material="base metal", melting_point_c=138, oil_flash_c=225)


def test_public_names_are_there_and_others_are_not() -> None:
    assert {"Campaign", "Estimate", "Factor", "Suggestion", "__version__"} <= set(dir(stirfall))
    with pytest.raises(AttributeError, match="has no attribute 'Spoon'"):
        _ = stirfall.Spoon


def test_attempts_are_recorded_from_numbers_and_typed_text(campaign: Campaign) -> None:
    with campaign:
        first = campaign.record(
            {"Sample age": "3 d", "temperature": "302 F"}, parted="yes", pooled="one pool", lot="L1"
        )
        second = campaign.record({"sample age": 8, "temperature": 150}, parted=Parted.NO)
        third = campaign.record({"sample age": np.float64(8), "temperature": 150}, clean=True)
        fourth = campaign.record({"sample age": 8, "temperature": 150}, clean=4, trials=6)
        assert first.conditions["sample age"] == 72.0
        assert first.conditions["temperature"] == pytest.approx(150.0)
        assert (first.parted, first.pooled, first.lot_id) == (Parted.YES, Pooled.ONE_POOL, "L1")
        assert second.outcome is Outcome.NOTHING_PARTED
        assert third.outcome is Outcome.CLEAN
        assert fourth.clean_count == (4, 6)
        assert [attempt.number for attempt in campaign.attempts] == [1, 2, 3, 4]


def test_numbers_of_other_libraries_are_kept_as_plain_ones(tmp_path: Path) -> None:
    # A loop over a table hands over numpy scalars, which neither JSON nor SQLite knows.
    path = tmp_path / "np.stirfall"
    factor = Factor("speed", low=np.int64(1), high=np.float32(3), step=np.int64(1))
    with Campaign.new(
        path, factors=[factor], melting_point_c=np.int64(100), oil_flash_c=np.float64(200), level=np.float64(0.9)
    ) as campaign:
        campaign.record(
            {"speed": np.int64(2)}, clean=np.int64(2), trials=np.int64(3), masses={"charge_g": np.float32(3)}
        )
        campaign.record({"speed": 1}, clean=np.bool_(True))
        campaign.correct(np.int64(1), "typed wrong", trials=np.int64(4))
        kept = campaign.attempts
    with Campaign.open(path) as again:
        assert again.attempts == kept
        assert [attempt.clean_count for attempt in again.attempts] == [(2, 4), (1, 1)]
        assert again.document.state.settings.melting_point_c == 100.0


@pytest.mark.parametrize("clean", ["yes", 0.5, float("nan")])
def test_a_result_that_is_no_count_is_refused(campaign: Campaign, clean: object) -> None:
    with pytest.raises(InputError, match=r"script\.not_a_count"):
        campaign.record({"sample age": 8}, clean=clean)
    assert campaign.attempts == ()


def test_none_is_unknown_and_takes_a_wrong_value_away(campaign: Campaign) -> None:
    attempt = campaign.record({"sample age": None, "temperature": 150}, clean=True)
    assert dict(attempt.conditions) == {"temperature": 150.0}
    corrected = campaign.correct(1, "thermometer was broken", conditions={"Temperature": None, "sample age": 8})
    assert dict(corrected.conditions) == {"sample age": 8.0}


def test_a_closed_session_says_that_it_is_closed(campaign: Campaign) -> None:
    campaign.close()
    with pytest.raises(InputError) as caught:
        campaign.record({"sample age": 8}, clean=True)
    assert caught.value.code == "session.closed"


def test_what_was_recorded_is_there_when_the_file_is_opened_again(campaign: Campaign) -> None:
    path = campaign.document.path
    with campaign:
        campaign.record({"sample age": 24, "temperature": 150}, clean=False, note="slow", masses={"charge_g": 12.5})
    with Campaign.open(path) as again:
        (attempt,) = again.attempts
        assert attempt.note == "slow"
        assert attempt.masses.charge_g == 12.5
        assert attempt.clean_count == (0, 1)


def test_a_lot_is_registered_once(campaign: Campaign) -> None:
    with campaign:
        for _ in range(2):
            campaign.record({"sample age": 24, "temperature": 150}, clean=True, lot="L7")
        assert [lot.id for lot in campaign.document.state.lots] == ["L7"]


def test_a_jar_gives_its_lot_and_the_age_that_the_clock_says(tmp_path: Path) -> None:
    started = datetime(2026, 3, 1, 12, tzinfo=UTC)
    oil = Factor("oil exposure time", unit="h", low=1, high=240, scale="log")
    with Campaign.new(tmp_path / "jar.stirfall", factors=[oil, BATH], material="other") as campaign:
        campaign.record({"temperature": 150}, clean=True, lot="L1")
        campaign.document.execute(AddJar(Jar("J1", "L1", started)))
        attempt = campaign.record({"temperature": 150}, clean=True, jar="J1", at=started + timedelta(days=2))
        assert attempt.lot_id == "L1"
        assert attempt.conditions["oil exposure time"] == 48.0
        with pytest.raises(InputError) as caught:
            campaign.record({"temperature": 150}, clean=True, jar="J9")
        assert caught.value.code == "script.jar_unknown"


def test_an_aborted_attempt_does_not_count(campaign: Campaign) -> None:
    with campaign:
        attempt = campaign.record({"sample age": 24, "temperature": 150}, aborted="oil smoked")
        assert attempt.outcome is Outcome.ABORTED
        assert attempt.abort_reason == "oil smoked"
        assert campaign.analysis.counts.aborted == 1


def test_probability_moves_with_the_evidence_and_is_kept_until_the_next_write(campaign: Campaign) -> None:
    here = {"sample age": 24, "temperature": 155}
    with campaign:
        before = campaign.probability(here)
        assert before.n == 0
        assert (before.lower, before.upper) < (0.1, 1.0)
        kept = campaign.analysis
        assert campaign.analysis is kept
        for _ in range(5):
            campaign.record(here, clean=True)
        after = campaign.probability(here)
        assert campaign.analysis is not kept
        assert after.n == 5
        assert after.mean > before.mean
        assert after.lower > before.lower


def test_a_condition_that_the_model_needs_must_be_given(campaign: Campaign) -> None:
    with campaign, pytest.raises(InputError) as caught:
        campaign.probability({"sample age": 24})
    assert "temperature" in str(caught.value.params)


def test_suggestions_carry_values_probability_and_a_sentence(campaign: Campaign) -> None:
    with campaign:
        suggestions = campaign.suggest(count=2, goal="learn")
        assert len(suggestions) == 2
        for suggestion in suggestions:
            assert set(suggestion.conditions) == {"sample age", "temperature"}
            assert 145 <= float(suggestion.conditions["temperature"]) <= 170
            assert 0 < suggestion.probability.mean < 1
            assert suggestion.why[0].isupper()
        assert campaign.blocked_reason is None
        assert campaign.best().conditions.keys() == {"sample age", "temperature"}
        campaign.record(suggestions[0].conditions, clean=True)


def test_where_nothing_may_be_suggested_the_reason_is_there(tmp_path: Path) -> None:
    with Campaign.new(tmp_path / "a.stirfall", factors=[AGE, BATH], material="base metal") as campaign:
        assert campaign.suggest() == []
        assert "flash" in (campaign.blocked_reason or "")
        with pytest.raises(InputError) as caught:
            campaign.best()
        assert caught.value.code.startswith("limits.")


def test_striking_and_correcting_keep_the_record(campaign: Campaign) -> None:
    with campaign:
        first = campaign.record({"sample age": 24, "temperature": 150}, parted="yes", pooled="beads")
        campaign.record({"sample age": 30, "temperature": 150}, parted="no")
        corrected = campaign.correct(1, "misread the clock", conditions={"sample age": "2 d"}, pooled="one pool")
        assert corrected.conditions == {"sample age": 48.0, "temperature": 150.0}
        assert corrected.outcome is Outcome.CLEAN
        kept = campaign.document.corrections(first.id)
        assert {correction.field for correction in kept} >= {"pooled"}
        assert all(correction.reason == "misread the clock" for correction in kept)
        campaign.strike(2, "wrong jar")
        assert campaign.attempts[1].is_struck
        assert campaign.analysis.counts.struck == 1
        with pytest.raises(InputError):
            campaign.strike(9, "no such attempt")


@pytest.mark.parametrize(
    ("arguments", "code"),
    [
        ({"parted": "perhaps"}, "value.not_a_grade"),
        ({"parted": "no", "pooled": "beads"}, "attempt.pool_without_parting"),
        ({"clean": 3, "trials": 2}, "attempt.count_outside"),
        ({"clean": True, "masses": {"weight": 1.0}}, "script.mass_unknown"),
        ({"clean": True, "at": "yesterday"}, "time.unreadable"),
    ],
)
def test_a_record_that_makes_no_sense_is_refused_whole(
    campaign: Campaign, arguments: dict[str, object], code: str
) -> None:
    with campaign:
        with pytest.raises(InputError) as caught:
            campaign.record({"sample age": 24, "temperature": 150}, lot="L1", **arguments)  # type: ignore[arg-type]
        assert caught.value.code == code
        assert campaign.attempts == ()
        assert campaign.document.state.lots == ()


def test_the_recipe_reads_as_markdown_and_json_and_saves_by_suffix(campaign: Campaign, tmp_path: Path) -> None:
    with campaign:
        for age in (4, 12, 24, 48):
            campaign.record({"sample age": age, "temperature": 155}, clean=age > 4)
        recipe = campaign.recipe({"sample age": "1 d", "temperature": 155})
        assert "sample age" in recipe.markdown()
        saved = recipe.save(tmp_path / "recipe.json")
        assert json.loads(saved.read_text(encoding="utf-8")) == json.loads(json.dumps(recipe.json()))
        assert recipe.save(tmp_path / "recipe.md").read_text(encoding="utf-8") == recipe.markdown()
        assert campaign.recipe().markdown()
        with pytest.raises(InputError) as caught:
            recipe.save(tmp_path / "recipe.docx")
        assert caught.value.code == "recipe.suffix"


def test_the_frame_has_a_row_per_attempt_and_a_column_per_factor(campaign: Campaign) -> None:
    with campaign:
        assert list(campaign.frame()["temperature"]) == []
        campaign.record({"sample age": 24, "temperature": 150}, parted="yes", pooled="one pool", lot="L1")
        campaign.record({"temperature": 150}, clean=2, trials=3)
        frame = campaign.frame()
        assert list(frame["number"]) == [1, 2]
        assert list(frame["temperature"]) == [150.0, 150.0]
        assert frame["sample age"].isna().tolist() == [False, True]
        assert frame.loc[0, "outcome"] == "clean separation"
        assert list(frame["trials"]) == [1, 3]


def test_a_new_campaign_never_overwrites_a_file(campaign: Campaign) -> None:
    campaign.close()
    with pytest.raises(FileTroubleError):
        Campaign.new(campaign.document.path)


def test_other_settings_are_taken_by_keyword(tmp_path: Path) -> None:
    path = tmp_path / "a.stirfall"
    with Campaign.new(
        path, factors=[AGE], gates=1, title="Mine", humps=("sample age",), effect_prior_sd=1.5
    ) as campaign:
        settings = campaign.document.state.settings
        assert (settings.gates, settings.title, settings.humps, settings.effect_prior_sd) == (
            1,
            "Mine",
            ("sample age",),
            1.5,
        )


def test_what_the_model_assumes_is_taken_by_keyword_and_checked(tmp_path: Path) -> None:
    bench = Factor("bench", levels=("window", "door"))
    path = tmp_path / "a.stirfall"
    with Campaign.new(
        path, factors=[AGE, bench], partly="ordinal", lot_effect="bench", lot_sd_prior=0.5, form=""
    ) as campaign:
        settings = campaign.document.state.settings
        assert (settings.partly, settings.lot_effect, settings.lot_sd_prior) == ("ordinal", "bench", 0.5)
    for wrong, code in (
        ({"partly": "half"}, "settings.partly"),
        ({"lot_effect": "table"}, "settings.lot_effect_unknown"),
        ({"lot_sd_prior": 0}, "settings.prior_not_positive"),
    ):
        with pytest.raises(InputError) as caught:
            Campaign.new(tmp_path / "b.stirfall", factors=[AGE, bench], **wrong)
        assert caught.value.code == code
        assert caught.value.__notes__


@pytest.mark.parametrize(("shared", "good", "bad"), [("lot", "L0", "L1"), ("bench", "door", "window")])
def test_a_known_lot_and_a_new_one_have_chances_of_their_own(
    tmp_path: Path, shared: str, good: str, bad: str
) -> None:
    bench = Factor("bench", levels=("window", "door"))
    with Campaign.new(tmp_path / "a.stirfall", factors=[AGE, bench], gates=1, lot_effect=shared) as campaign:
        for number in range(16):
            lot, place = f"L{number % 2}", ("door", "window")[number // 2 % 2]
            campaign.record({"sample age": 5 + number, "bench": place}, clean=good in (lot, place), lot=lot)
        at = {"sample age": 10, "bench": "door"}
        means = [campaign.probability(at, lot=name).mean for name in (bad, "never seen", good)]
        assert means[0] + 0.1 < means[1] < means[2] - 0.1
        # A level that the conditions name is answered for; a lot is no condition.
        assert campaign.probability(at).mean == (means[2] if shared == "bench" else means[1])


@pytest.mark.parametrize("document", ["README.md", "resources/guide/scripts.md"])
def test_the_example_of_the_documents_runs(
    root: Path, document: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    text = (root / document).read_text(encoding="utf-8")
    (example,) = re.findall(r"```python\n(.*?)```", text, flags=re.DOTALL)
    exec(compile(example, document, "exec"), {})
    assert "Estimate(" in capsys.readouterr().out
    assert (tmp_path / "bench.stirfall").exists()


def test_an_error_tells_a_script_what_to_do(campaign: Campaign) -> None:
    with pytest.raises(InputError) as caught:
        campaign.record({"no such factor": 1.0}, clean=True)
    assert caught.value.__notes__ == [error_sentence(caught.value)]
    assert "no such factor" in caught.value.__notes__[0]


def test_errors_are_of_one_family() -> None:
    assert issubclass(InputError, StirfallError)
    assert issubclass(FileTroubleError, StirfallError)
