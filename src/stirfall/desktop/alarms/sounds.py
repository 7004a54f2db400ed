"""The tones of alarms: three short distinct ones, made when first needed, played by whatever the computer has.

The tones are our own, no source. Pitch and pattern differ, so that they can be told apart without a melody.
"""

from __future__ import annotations

import io
import math
import shutil
import struct
import sys
import tempfile
import wave
from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QObject, QProcess
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QApplication

from stirfall.session.alarm import Rank

RATE = 22_050
LOUDEST = 0.6
_FADE_S = 0.02
_SILENT_PLATFORMS = ("offscreen", "minimal", "vnc")
# Frequency in Hz (0: silence) and seconds of each part.
TONES: dict[Rank, tuple[tuple[float, float], ...]] = {
    "info": ((660.0, 0.30),),
    "due": ((660.0, 0.20), (0.0, 0.08), (880.0, 0.30)),
    "danger": ((880.0, 0.22), (0.0, 0.06), (660.0, 0.22), (0.0, 0.06), (880.0, 0.22), (0.0, 0.06), (660.0, 0.22)),
}
Player = tuple[str, tuple[str, ...]]
"""A program that plays a WAV file, and its options before the file."""
_PLAYERS: tuple[Player, ...] = (
    ("afplay", ()),
    ("pw-play", ()),
    ("paplay", ()),
    ("aplay", ("-q",)),
)


def tone(rank: Rank, volume: float) -> bytes:
    """Return the tone of a rank as a WAV file, 16 bit, one channel; ``volume`` from 0 to 1.

    Each part fades in and out, so that nothing clicks or startles.
    """
    peak = 32_767.0 * LOUDEST * min(max(volume, 0.0), 1.0)
    samples = [round(peak * value) for part in TONES[rank] for value in _part(*part)]
    target = io.BytesIO()
    with wave.open(target, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(RATE)
        file.writeframes(struct.pack(f"<{len(samples)}h", *samples))
    return target.getvalue()


def _part(hertz: float, seconds: float) -> list[float]:
    count, fade = round(RATE * seconds), RATE * _FADE_S
    step = 2.0 * math.pi * hertz / RATE
    return [min(at / fade, (count - at) / fade, 1.0) * math.sin(step * at) for at in range(count)]


def find_player(which: Callable[[str], str | None] = shutil.which) -> Player | None:
    """Return the program that can play a WAV file, with the options before the file; None where there is none."""
    for name, options in _PLAYERS:
        found = which(name)
        if found is not None:
            return found, options
    return None


class AlarmSounds(QObject):
    """Plays the tones, never on the window's thread; where nothing can play them the computer beeps.

    Attributes: is_on, volume (0 to 1): the person's settings.
    """

    def __init__(
        self,
        parent: QObject | None = None,
        *,
        is_on: bool = True,
        volume: float = 0.5,
        player: Callable[[], Player | None] | None = None,
    ) -> None:
        """Take the settings; ``player`` finds what plays a file, by default what the computer has."""
        super().__init__(parent)
        self.is_on, self.volume = is_on, volume
        self._find = player or find_player
        self._is_silent = player is None and QGuiApplication.platformName() in _SILENT_PLATFORMS
        self._folder: tempfile.TemporaryDirectory[str] | None = None
        self._playing: QProcess | None = None
        self._is_broken = False

    def play(self, rank: Rank) -> None:
        """Play the tone of a rank, unless sound is off, the screen is none, or a tone is still playing."""
        if not self.is_on or self.volume <= 0.0 or self._is_silent:
            return
        if self._playing is not None and self._playing.state() is not QProcess.ProcessState.NotRunning:
            return
        try:
            path = self._file(rank)
        except OSError:
            path = None
        if path is None or self._is_broken or not self._start(path):
            QApplication.beep()

    def _file(self, rank: Rank) -> Path:
        if self._folder is None:
            self._folder = tempfile.TemporaryDirectory(prefix="stirfall-sound-", ignore_cleanup_errors=True)
        path = Path(self._folder.name) / f"{rank}-{round(100 * self.volume)}.wav"
        if not path.exists():
            path.write_bytes(tone(rank, self.volume))
        return path

    def _start(self, path: Path) -> bool:
        if sys.platform == "win32" and self._find is find_player:
            import winsound

            winsound.PlaySound(str(path), winsound.SND_FILENAME | winsound.SND_ASYNC | winsound.SND_NODEFAULT)
            return True
        player = self._find()
        if player is None:
            return False
        program, options = player
        self._playing = QProcess(self)
        self._playing.finished.connect(self._on_finished)
        self._playing.errorOccurred.connect(self._on_error)
        self._playing.start(program, [*options, str(path)])
        return True

    def _on_finished(self, code: int) -> None:
        if code != 0:
            self._on_error()

    def _on_error(self, *_unused: object) -> None:
        """A player that fails once is not asked again: the computer beeps from then on."""
        if not self._is_broken:
            self._is_broken = True
            QApplication.beep()

    def close(self) -> None:
        """End what is playing and remove the files."""
        if self._playing is not None and self._playing.state() is not QProcess.ProcessState.NotRunning:
            self._playing.errorOccurred.disconnect(self._on_error)
            self._playing.finished.disconnect(self._on_finished)
            self._playing.kill()
            self._playing.waitForFinished(500)
        self._playing = None
        if self._folder is not None:
            self._folder.cleanup()
            self._folder = None
