"""Program settings: typed, described, and never lost silently."""

from __future__ import annotations

import json
from dataclasses import fields
from pathlib import Path

import pytest

from stirfall.bench.errors import FileTroubleError, InputError
from stirfall.reporting.sentences import error_sentence
from stirfall.session.settings import MOST_RECENT_FILES, ProgramSettings, Settings, describe_settings


@pytest.fixture
def place(tmp_path: Path) -> Path:
    return tmp_path / "new folder" / "settings.json"


def test_settings_start_with_defaults_and_write_nothing_until_changed(place: Path) -> None:
    settings = Settings(place)
    assert settings.values == ProgramSettings()
    assert settings.trouble is None
    assert not place.parent.exists()


def test_changed_settings_are_there_at_the_next_start(place: Path) -> None:
    Settings(place).change(theme="dark", decimal=",", text_scale=1)
    values = Settings(place).values
    assert (values.theme, values.decimal, values.text_scale) == ("dark", ",", 1.0)
    assert [entry.name for entry in place.parent.iterdir()] == [place.name]


def test_an_unknown_setting_fails_and_changes_nothing(place: Path) -> None:
    settings = Settings(place)
    with pytest.raises(InputError) as caught:
        settings.change(theme="dark", colour="red")
    assert caught.value.code == "setting.unknown"
    assert "theme" in error_sentence(caught.value)
    assert settings.values == ProgramSettings()
    assert not place.exists()


@pytest.mark.parametrize(
    "change",
    [
        {"theme": "pink"},
        {"decimal": ";"},
        {"text_scale": 9},
        {"text_scale": True},
        {"text_scale": float("nan")},
        {"recent_files": "a"},
        {"recent_files": [1]},
        {"last_folder": None},
        {"reopen_last": "yes"},
    ],
)
def test_a_value_of_the_wrong_kind_fails(place: Path, change: dict[str, object]) -> None:
    with pytest.raises(InputError) as caught:
        Settings(place).change(**change)
    assert caught.value.code == "setting.wrong_kind"


@pytest.mark.parametrize("content", [b"{", b"[]", b'{"theme": "pink"}', b"\xff\xfe\x00", b""])
def test_a_broken_file_is_kept_aside_and_defaults_are_used(place: Path, content: bytes) -> None:
    place.parent.mkdir()
    for round_number in (1, 2):
        place.write_bytes(content)
        settings = Settings(place)
        assert settings.values == ProgramSettings()
        assert settings.trouble is not None
        assert settings.trouble.code == "setting.broken"
        aside = Path(str(settings.trouble.params["aside"]))
        assert aside.name == f"settings.broken-{round_number}.json"
        assert aside.read_bytes() == content
        assert str(aside) in error_sentence(settings.trouble)
    settings.change(theme="light")
    assert Settings(place).values.theme == "light"


def test_settings_of_a_newer_program_are_kept_for_it(place: Path) -> None:
    place.parent.mkdir()
    place.write_text('{"theme": "dark", "hologram": [1]}')
    settings = Settings(place)
    assert settings.values.theme == "dark"
    assert settings.trouble is None
    settings.change(theme="light")
    assert json.loads(place.read_text())["hologram"] == [1]


def test_a_settings_file_that_cannot_be_written_says_so(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    settings = Settings(tmp_path / "file" / "settings.json")
    with pytest.raises(FileTroubleError) as caught:
        settings.change(theme="dark")
    assert caught.value.code in ("file.missing", "file.exists")
    assert settings.values.theme == "dark"


def test_a_settings_file_that_cannot_be_read_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "settings.json").mkdir()
    settings = Settings(tmp_path / "settings.json")
    assert settings.trouble is not None
    assert settings.trouble.code == "setting.unreadable"
    assert settings.values == ProgramSettings()


def test_recent_files_stand_once_with_the_last_first_and_stay_few(place: Path, tmp_path: Path) -> None:
    settings = Settings(place)
    for number in range(MOST_RECENT_FILES + 3):
        settings.add_recent(tmp_path / f"{number}.stirfall")
    settings.add_recent(tmp_path / "5.stirfall")
    recent = [Path(text).name for text in Settings(place).values.recent_files]
    assert recent[:3] == ["5.stirfall", "12.stirfall", "11.stirfall"]
    assert len(recent) == MOST_RECENT_FILES
    assert settings.values.last_folder == str(tmp_path)


def test_every_setting_is_described() -> None:
    described = describe_settings()
    assert list(described) == [item.name for item in fields(ProgramSettings)]
    assert all(text.endswith(".") for text in described.values())
