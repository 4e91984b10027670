"""The shed's file storage: a file appears whole or not at all, and is never written over."""

import os
from pathlib import Path
from uuid import uuid4

from django.core.files.base import File
from django.core.files.storage import FileSystemStorage, Storage
from django.utils.deconstruct import deconstructible

PART = ".part"
PARTS = "parts"
"""The folder of a storage where files lie until they are whole."""


@deconstructible(path="records.intake.storage.DurableStorage")
class DurableStorage(FileSystemStorage):
    """A power cut leaves either the whole file under its name or nothing under it.

    An existing name is success: names are digests, so the bytes are the same.
    """

    def get_available_name(self, name: str, max_length: int | None = None) -> str:
        return name

    def _save(self, name: str, content: File) -> str:  # type: ignore[type-arg]
        place = Path(self.path(name))
        if place.exists():
            return name
        new_folders = [folder for folder in place.parents if not folder.exists()]
        place.parent.mkdir(parents=True, exist_ok=True)
        part = Path(self.path(PARTS)) / f"{uuid4().hex}{PART}"
        part.parent.mkdir(exist_ok=True)
        try:
            _bring(content, part)
            part.chmod(0o444)
            _rename(part, place)
        finally:
            part.unlink(missing_ok=True)
        for folder in {place.parent, *(new.parent for new in new_folders)}:
            sync_folder(folder)
        return name


def _bring(content: File, part: Path) -> None:  # type: ignore[type-arg]
    """Move what already lies in a file of its own, or else copy; then to the disk itself."""
    if hasattr(content, "temporary_file_path"):
        try:
            os.rename(content.temporary_file_path(), part)
        except OSError:  # another drive
            pass
        else:
            with part.open("r+b") as moved:
                os.fsync(moved.fileno())
            return
    with part.open("xb") as out:
        for chunk in content.chunks():
            out.write(chunk)
        out.flush()
        os.fsync(out.fileno())


def _rename(part: Path, place: Path) -> None:
    try:
        os.replace(part, place)
    except PermissionError:  # Windows, where another process was first
        if not place.exists():
            raise


def sync_folder(folder: Path) -> None:
    """Make the names in a folder last through a power cut, where the system can."""
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def listed(storage: Storage, folder: str) -> tuple[list[str], list[str]]:
    """Folders and files of a storage's folder, which may not be there yet."""
    try:
        folders, files = storage.listdir(folder)
    except FileNotFoundError:
        return [], []
    return sorted(folders), sorted(files)
