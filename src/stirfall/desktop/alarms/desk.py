"""The alarms of one window: model, strip and tones put together, and where "Show" leads."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject

from stirfall.desktop.alarms.model import AlarmModel
from stirfall.desktop.alarms.sounds import AlarmSounds
from stirfall.session.alarm import RUN

if TYPE_CHECKING:
    from PySide6.QtWidgets import QWidget

    from stirfall.desktop.alarms.strip import AlarmStrip
    from stirfall.desktop.workspace import Workspace
    from stirfall.session.settings import ProgramSettings


class AlarmDesk(QObject):
    """Owns the model and the tones, and connects the strip of the window with them."""

    def __init__(
        self,
        workspace: Workspace,
        strip: AlarmStrip,
        pages: Mapping[str, QWidget],
        settings: ProgramSettings,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._workspace, self._pages = workspace, pages
        self.model = AlarmModel(workspace, self)
        self.sounds = AlarmSounds(self, is_on=settings.alarm_sound, volume=settings.alarm_volume)
        self.model.changed.connect(strip.render_state)
        self.model.rang.connect(self.sounds.play)
        self.model.show_wanted.connect(self.go)
        strip.seen.connect(self.model.see)
        strip.all_seen.connect(self.model.see_all)
        strip.show_wanted.connect(self.model.show)
        strip.render_state(self.model.state)

    def go(self, page: str, target: str) -> None:
        """Bring what an alarm is about to the front: the run, or the shelf with its jar chosen."""
        if page == RUN:
            if self._workspace.open_run is not None:  # it would begin a new one
                self._workspace.request_run()
            return
        self._workspace.show_page(page)
        select = getattr(getattr(self._pages.get(page), "model", None), "select", None)
        if select is not None and target:
            select(target)

    def set_sound(self, *, is_on: bool | None = None, volume: float | None = None) -> None:
        """Take a changed setting, and let a changed loudness be heard."""
        if is_on is not None:
            self.sounds.is_on = is_on
        if volume is not None:
            self.sounds.volume = volume
            self.sounds.play("info")
