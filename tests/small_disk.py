"""A real file system of a few megabytes, to fill up."""

import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

MEGABYTES = 8


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    place = tmp_path / "small disk"
    place.mkdir()
    if not sys.platform.startswith("linux") or os.geteuid() != 0 or not shutil.which("mount"):
        pytest.skip("NOT TESTED: a really full disk needs Linux and root, to mount a small one")
    mounting = ["mount", "-t", "tmpfs", "-o", f"size={MEGABYTES}m", "small", str(place)]
    if subprocess.run(mounting, capture_output=True).returncode != 0:
        pytest.skip("NOT TESTED: this machine lets nobody mount a small disk")
    try:
        yield place
    finally:
        subprocess.run(["umount", "-l", str(place)], check=True)


def use_folder(settings, folder: Path, backend: str = "records.intake.storage.DurableStorage"):
    settings.DATA_FOLDER = folder
    settings.STORAGES = settings.STORAGES | {
        "default": {"BACKEND": backend, "OPTIONS": {"location": str(folder / "files")}}
    }
