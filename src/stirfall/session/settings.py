"""Settings of the program, not of a campaign: one typed table, kept as JSON in a place that the caller chooses.

To add a setting, add a field to ``ProgramSettings`` with its check and its description; nothing else.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, fields, replace
from pathlib import Path
from typing import cast

from stirfall.bench.errors import FileTroubleError, InputError, StirfallError
from stirfall.storage.connection import file_errors
from stirfall.storage.copies import write_atomic

MOST_RECENT_FILES = 10

Check = Callable[[object], object]


def _one_of(*allowed: str) -> Check:
    def check(value: object) -> object:
        if value not in allowed:
            raise ValueError(value)
        return value

    return check


def _text(value: object) -> object:
    if not isinstance(value, str):
        raise TypeError(value)
    return value


def _flag(value: object) -> object:
    if not isinstance(value, bool):
        raise TypeError(value)
    return value


def _texts(value: object) -> object:
    if isinstance(value, str) or not isinstance(value, (tuple, list)):
        raise TypeError(value)
    return tuple(cast("str", _text(item)) for item in value)[:MOST_RECENT_FILES]


def _between(low: float, high: float) -> Check:
    def check(value: object) -> object:
        if isinstance(value, bool) or not isinstance(value, (int, float)) or not low <= value <= high:
            raise ValueError(value)
        return float(value)

    return check


def _setting(check: Check, description: str) -> dict[str, object]:
    return {"check": check, "description": description}


@dataclass(frozen=True)
class ProgramSettings:
    """Every setting of the program with its default; the metadata of a field holds its check and description."""

    theme: str = field(
        default="system",
        metadata=_setting(
            _one_of("system", "light", "dark", "high contrast"),
            "Colours of the window: system, light, dark or high contrast.",
        ),
    )
    decimal: str = field(
        default="system",
        metadata=_setting(_one_of("system", ".", ","), "Decimal sign of shown numbers; typed ones may use either."),
    )
    temperature_unit: str = field(
        default="campaign",
        metadata=_setting(
            _one_of("campaign", "C", "F", "K"),
            "Unit of shown temperatures and of bare numbers typed for them; what is kept stays in the campaign's.",
        ),
    )
    text_scale: float = field(
        default=1.0, metadata=_setting(_between(0.75, 2.0), "Size of the text, from 0.75 to 2 times the usual.")
    )
    recent_files: tuple[str, ...] = field(
        default=(), metadata=_setting(_texts, "Sessions that were opened lately, the last one first.")
    )
    last_folder: str = field(default="", metadata=_setting(_text, "Folder in which the file dialogs start."))
    window_layout: str = field(
        default="", metadata=_setting(_text, "Place and size of the window and its splitter, as text.")
    )
    right_side: str = field(
        default="odds",
        metadata=_setting(_one_of("odds", "melt", "film"), "What stood at the right when it closed."),
    )
    foot_switch_key: str = field(
        default="PgDown",
        metadata=_setting(_text, "The key that a foot switch sends; in a guided run it means next. Empty: none."),
    )
    ledger_columns: str = field(
        default="", metadata=_setting(_text, "Columns of the ledger, which are shown and in which order, as text.")
    )
    shelf_columns: str = field(
        default="",
        metadata=_setting(_text, "Columns of the shelf beside the essential ones; empty: as many as fit."),
    )
    alarm_sound: bool = field(
        default=True, metadata=_setting(_flag, "Whether alarms sound as well; their words are always shown.")
    )
    alarm_volume: float = field(
        default=0.5, metadata=_setting(_between(0.0, 1.0), "Loudness of alarms, from 0 to 1.")
    )
    keep_original_photos: bool = field(
        default=False, metadata=_setting(_flag, "Whether the file of a photo is kept beside its smaller copy.")
    )
    reopen_last: bool = field(
        default=False, metadata=_setting(_flag, "Whether the last session is opened at the start.")
    )


def describe_settings() -> Mapping[str, str]:
    """Return every setting with its one-line description."""
    return {item.name: item.metadata["description"] for item in fields(ProgramSettings)}


class Settings:
    """The settings file: read once, written whole after each change.

    Attributes: values (what holds now), trouble (why the file could not be used, or None).
    """

    def __init__(self, path: Path) -> None:
        """Read the file; where it is broken it is kept aside, defaults are used and ``trouble`` says so."""
        self._path = path
        self._foreign: dict[str, object] = {}
        self.trouble: StirfallError | None = None
        self.values = ProgramSettings()
        try:
            self._read()
        except (ValueError, TypeError, InputError) as error:
            self.trouble = self._keep_aside(str(error))
        except FileNotFoundError:
            return
        except OSError as error:
            self.trouble = FileTroubleError(
                "setting.unreadable", path=str(path), detail=error.strerror or str(error)
            )

    def _read(self) -> None:
        content = json.loads(self._path.read_text(encoding="utf-8"))
        if not isinstance(content, dict):
            raise TypeError(type(content).__name__)
        known = {item.name for item in fields(ProgramSettings)}
        # A newer program may know more settings than this one: they are kept, not used.
        self._foreign = {name: value for name, value in content.items() if name not in known}
        self.values = _checked(ProgramSettings(), {n: v for n, v in content.items() if n in known})

    def _keep_aside(self, detail: str) -> StirfallError:
        aside = _free_name(self._path)
        try:
            self._path.replace(aside)
        except OSError as error:
            return FileTroubleError("setting.unreadable", path=str(self._path), detail=error.strerror or str(error))
        return FileTroubleError("setting.broken", path=str(self._path), aside=str(aside), detail=detail)

    def change(self, **changes: object) -> ProgramSettings:
        """Change settings and write the file; returns what holds now.

        Raises InputError ``setting.unknown`` or ``setting.wrong_kind`` (nothing is changed), FileTroubleError
        ``file.*`` when the file cannot be written (the change then holds until the program ends).
        """
        self.values = _checked(self.values, changes)
        content = {
            **self._foreign,
            **{item.name: _plain(getattr(self.values, item.name)) for item in fields(ProgramSettings)},
        }
        text = json.dumps(content, indent=2, ensure_ascii=False, sort_keys=True) + "\n"
        with file_errors(self._path):
            self._path.parent.mkdir(parents=True, exist_ok=True)
            write_atomic(self._path, text.encode())
        return self.values

    def add_recent(self, path: Path) -> ProgramSettings:
        """Put a session at the head of the recent files, and remember its folder."""
        shown = str(path.absolute())
        others = tuple(other for other in self.values.recent_files if other != shown)
        return self.change(recent_files=(shown, *others), last_folder=str(path.absolute().parent))


def _checked(values: ProgramSettings, changes: Mapping[str, object]) -> ProgramSettings:
    checks = {item.name: cast("Check", item.metadata["check"]) for item in fields(ProgramSettings)}
    kept: dict[str, object] = {}
    for name, value in changes.items():
        if name not in checks:
            raise InputError("setting.unknown", name=name, known=", ".join(checks))
        try:
            kept[name] = checks[name](value)
        except (ValueError, TypeError) as error:
            raise InputError("setting.wrong_kind", name=name, value=value) from error
    return replace(values, **kept)  # type: ignore[arg-type]  # each value went through the check of its field


def _plain(value: object) -> object:
    return dict(value) if isinstance(value, Mapping) else value


def _free_name(path: Path) -> Path:
    number = 1
    while (candidate := path.with_name(f"{path.stem}.broken-{number}{path.suffix}")).exists():
        number += 1
    return candidate
