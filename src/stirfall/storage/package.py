"""A whole campaign as open text: a Data Package, that is datapackage.json, CSV files and pictures in one folder.

Descriptor and schemas follow the Data Package and Table Schema standards of Frictionless Data, so that any tool
can read and check them. Reading is all or nothing: every bad cell is listed and no half-read campaign comes out.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from stirfall.bench.campaign import CampaignState, Correction
from stirfall.bench.cancel import CancelToken
from stirfall.storage.bulky import Pair
from stirfall.storage.package_content import LeftOut, PackageContent, PackageFacts, Photos
from stirfall.storage.package_reading import descriptor_of, read_content
from stirfall.storage.package_schema import SCHEMA
from stirfall.storage.package_sources import FolderSource, open_folder
from stirfall.storage.package_targets import DESCRIPTOR, folder_target
from stirfall.storage.package_writer import NOT_ALWAYS_THERE, Written, write_into

__all__ = [
    "DESCRIPTOR",
    "SCHEMA",
    "LeftOut",
    "PackageContent",
    "PackageFacts",
    "Written",
    "read_descriptor",
    "read_package",
    "write_package",
    "write_package_folder",
]


def write_package(
    state: CampaignState,
    corrections: Sequence[Correction],
    folder: Path,
    *,
    description: str = "",
    bulky: Sequence[Pair] = (),
) -> None:
    """Write the campaign into ``folder``; an older package there is replaced, anything else is left alone.

    Raises what ``write_package_folder`` raises.
    """
    write_package_folder(PackageContent(state, tuple(corrections), description, bulky), folder)


def write_package_folder(
    content: PackageContent,
    folder: Path,
    *,
    photos: Photos = "all",
    originals: bool = True,
    extra: Mapping[str, bytes] | None = None,
    token: CancelToken | None = None,
) -> Written:
    """Write a package into ``folder``, with the files of ``extra`` beside its own.

    The same content gives the same bytes. Raises FileTroubleError ``package.folder_in_use`` or
    ``package.cannot_write``, and InputError ``package.*`` for what no package can hold.
    """
    with folder_target(folder, [table.file_name for table in NOT_ALWAYS_THERE]) as target:
        return write_into(target, content, photos=photos, originals=originals, extra=extra, token=token)


def read_package(folder: Path) -> PackageContent:
    """Read a package whole, or raise and return nothing.

    Raises FileTroubleError and InputError ``package.*``: a missing or unreadable file, a link that leads out, more
    than a campaign can hold, headings, cells and rows that make no sense, ids that repeat or that nothing has.
    """
    return read_content(lambda: open_folder(folder))


def read_descriptor(folder: Path) -> Mapping[str, object]:
    """Return the descriptor of a package of ours; raises as ``read_package`` does."""
    return descriptor_of(FolderSource(folder))
