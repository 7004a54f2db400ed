"""Whole campaigns go into a package and come back as they were: as a folder, as a zip file, through a session."""

from __future__ import annotations

import tempfile
from pathlib import Path

from hypothesis import HealthCheck, given, settings
from whole_campaigns import contents

from stirfall.session.packages import content_of, import_package, session_of
from stirfall.storage.package import PackageContent, read_package, write_package_folder
from stirfall.storage.package_zip import read_package_zip, write_package_zip

FEW = settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.too_slow])


@FEW
@given(contents())
def test_whatever_a_package_holds_comes_back_from_a_zip_file_and_from_a_folder(content: PackageContent) -> None:
    with tempfile.TemporaryDirectory() as root:
        write_package_zip(content, Path(root) / "p.zip")
        assert read_package_zip(Path(root) / "p.zip") == content
        write_package_folder(content, Path(root) / "p")
        assert read_package(Path(root) / "p") == content


@FEW
@given(contents())
def test_a_session_comes_back_whole_through_a_package(content: PackageContent) -> None:
    with tempfile.TemporaryDirectory() as root, session_of(content, Path(root) / "first.stirfall") as first:
        write_package_zip(content_of(first), Path(root) / "p.zip")
        with import_package(Path(root) / "p.zip", Path(root) / "second.stirfall") as second:
            assert second.state == first.state
            assert second.corrections() == first.corrections()
            assert second.bulky() == first.bulky()
            assert second.fingerprint == first.fingerprint
            assert len(second.bulky()) == len(content.bulky)
