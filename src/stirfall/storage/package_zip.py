"""A package as one zip file: written in one stream and always the same, read without trusting any of it."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from stirfall.bench.cancel import CancelToken
from stirfall.bench.errors import FileTroubleError
from stirfall.storage.package import read_package
from stirfall.storage.package_content import PackageContent, Photos
from stirfall.storage.package_reading import read_content
from stirfall.storage.package_sources import open_zip
from stirfall.storage.package_targets import DESCRIPTOR, zip_target
from stirfall.storage.package_writer import Written, write_into

SUFFIX = ".zip"


def write_package_zip(
    content: PackageContent,
    path: Path,
    *,
    photos: Photos = "all",
    originals: bool = True,
    extra: Mapping[str, bytes] | None = None,
    token: CancelToken | None = None,
) -> Written:
    """Write a package as a zip file that takes the place of ``path`` when it is whole.

    ``photos`` are all, none, or those with these ids; what is left out is said in the descriptor. ``extra`` are
    files that stand beside the tables, by their names (such as ``report.html`` or ``figures/odds.svg``). The same
    content gives the same bytes. Raises FileTroubleError ``package.cannot_write`` and InputError ``package.*``.
    """
    with zip_target(path) as target:
        return write_into(target, content, photos=photos, originals=originals, extra=extra, token=token)


def read_package_zip(data: Path | bytes) -> PackageContent:
    """Read a package from a zip file or its bytes, whole, or raise and return nothing.

    Raises FileTroubleError ``package.no_zip`` and ``package.zip_*``, and what ``read_package`` raises. Nothing is
    unpacked to disk, and sizes are counted while reading.
    """
    return read_content(lambda: open_zip(data))


def read_any_package(path: Path) -> PackageContent:
    """Read a package from its folder, its descriptor or its zip file; raises what reading these raises."""
    if path.is_dir():
        return read_package(path)
    if path.name == DESCRIPTOR:
        return read_package(path.parent)
    if not path.exists():
        raise FileTroubleError("package.missing_file", path=str(path))
    return read_package_zip(path)
