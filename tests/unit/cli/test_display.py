from __future__ import annotations

import os
import sys

import pytest

from stirfall.cli.display import draw_unseen, has_display


@pytest.fixture(autouse=True)
def _bare_linux(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setattr(sys, "platform", "linux")


@pytest.mark.parametrize(
    ("environment", "platform", "shows"),
    [
        ({}, "linux", False),
        ({"DISPLAY": ":0"}, "linux", True),
        ({"WAYLAND_DISPLAY": "wayland-0"}, "linux", True),
        ({"DISPLAY": ":0", "QT_QPA_PLATFORM": "offscreen"}, "linux", False),
        ({"QT_QPA_PLATFORM": "minimal:enable_fonts"}, "linux", False),
        ({"QT_QPA_PLATFORM": "vnc:port=5901"}, "linux", True),
        ({}, "darwin", True),
        ({}, "win32", True),
        ({"QT_QPA_PLATFORM": "offscreen"}, "win32", False),
    ],
)
def test_a_display_is_found_where_someone_can_see_it(
    environment: dict[str, str], platform: str, shows: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name, value in environment.items():
        monkeypatch.setenv(name, value)
    monkeypatch.setattr(sys, "platform", platform)
    assert has_display() is shows


def test_drawing_goes_into_memory_only_where_nobody_could_see_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("DISPLAY", ":0")
    draw_unseen()
    assert "QT_QPA_PLATFORM" not in os.environ
    monkeypatch.delenv("DISPLAY")
    monkeypatch.setenv("QT_QPA_PLATFORM", "")
    draw_unseen()
    assert os.environ["QT_QPA_PLATFORM"] == "offscreen"
