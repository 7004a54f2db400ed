"""Floor 5, the window; the only place that knows Qt."""

from PySide6 import __version__ as _binding

from stirfall.desktop.singletons import guard as _guard

_guard(_binding)
