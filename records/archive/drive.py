"""The folder on another drive: whole files or none, each read back after it is written."""

import errno
import hashlib
import os
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO
from uuid import uuid4

from django.conf import settings
from django.utils.translation import gettext as _

from records.intake.storage import sync_folder
from records.refusals import Refused

OURS = "seabed-squares-copy"
CHUNK = 1 << 20
LEFT_OVER_S = 3600.0


class DamagedOriginal(Exception):
    """What is kept no longer has the digest it was kept under."""


class Drive:
    """`seabed-squares-copy` in a folder that a person named."""

    def __init__(self, folder: str) -> None:
        self.folder = _usable(folder)
        self.root = self.folder / OURS
        with words_for_the_drive():
            self._in_progress.mkdir(parents=True, exist_ok=True)
            self._try_to_write()
            self._remove_leftovers()

    @property
    def _in_progress(self) -> Path:
        return self.root / "in-progress"

    @property
    def is_the_same_drive(self) -> bool:
        return self.folder.stat().st_dev == Path(settings.DATA_FOLDER).stat().st_dev

    def _try_to_write(self) -> None:
        with self.part() as part:
            part.write_bytes(b"a trial")

    def _remove_leftovers(self) -> None:
        """Of copies that were cut off; one that goes on has been written to lately."""
        for place in self._in_progress.iterdir():
            if time.time() - place.stat().st_mtime > LEFT_OVER_S:
                place.unlink()

    @contextmanager
    def part(self) -> Iterator[Path]:
        """A name to write under; whatever is not moved from it is removed."""
        part = self._in_progress / f"{uuid4().hex}.part"
        try:
            yield part
        finally:
            part.unlink(missing_ok=True)

    def place_of(self, sha256: str) -> Path:
        return self.root / "originals" / sha256[:2] / sha256

    def holds(self, sha256: str, size_bytes: int) -> bool:
        """There, and as long as it should be."""
        with words_for_the_drive():
            place = self.place_of(sha256)
            return place.exists() and place.stat().st_size == size_bytes

    def is_whole(self, sha256: str, beat: Callable[[], None]) -> bool:
        with words_for_the_drive():
            return _digest_of(self.place_of(sha256), beat) == sha256

    def put(self, original: BinaryIO, sha256: str, beat: Callable[[], None]) -> None:
        """Copy an original, read the copy back from the drive, then give it its name."""
        with self.part() as part:
            if _copied(original, part, beat) != sha256:
                raise DamagedOriginal
            with words_for_the_drive():
                if _digest_of(part, beat) != sha256:
                    raise Refused(_unreadable())
                self.give_name(part, self.place_of(sha256))

    def give_name(self, part: Path, place: Path) -> None:
        place.parent.mkdir(parents=True, exist_ok=True)
        os.replace(part, place)
        sync_folder(place.parent)


def _usable(folder: str) -> Path:
    place, data = Path(folder), Path(settings.DATA_FOLDER).resolve()
    if not folder.strip() or not place.is_absolute():
        raise Refused(_("Write the folder with its whole path."), field="folder")
    if not place.is_dir():
        raise Refused(
            _("There is no folder %(folder)s on this machine. Is the drive plugged in?")
            % {"folder": folder},
            field="folder",
        )
    if place.resolve() == data or data in place.resolve().parents:
        raise Refused(
            _("This folder lies inside the record's own. Choose one on another drive."),
            field="folder",
        )
    return place


@contextmanager
def words_for_the_drive() -> Iterator[None]:
    """A drive that fills up, is pulled out or write-protected is told in words."""
    try:
        yield
    except OSError as error:
        if error.errno in {errno.ENOSPC, errno.EDQUOT, errno.EFBIG}:
            words = _("The drive of the second copy is full. Make room on it, then copy again.")
        elif error.errno in {errno.EACCES, errno.EPERM, errno.EROFS}:
            words = _("The folder of the second copy cannot be written. Choose another one.")
        else:
            words = _(
                "The drive of the second copy does not answer as it should (%(reason)s). Plug it "
                "in again, then copy again."
            ) % {"reason": error.strerror or type(error).__name__}
        raise Refused(words, field="folder") from error


def _unreadable() -> str:
    return _(
        "What was written to the drive of the second copy reads back differently: the drive is "
        "failing. Use another one."
    )


def _copied(original: BinaryIO, part: Path, beat: Callable[[], None]) -> str:
    digest = hashlib.sha256()
    # closing writes what is still in memory: a full drive may speak up only then
    with words_for_the_drive(), part.open("xb") as out:
        for chunk in _chunks(original):
            digest.update(chunk)
            out.write(chunk)
            beat()
        to_the_disk(out)
    return digest.hexdigest()


def _chunks(original: BinaryIO) -> Iterator[bytes]:
    while True:
        try:
            chunk = original.read(CHUNK)
        except OSError as error:  # of the record's own disk, not of the drive
            raise DamagedOriginal from error
        if not chunk:
            return
        yield chunk


def to_the_disk(out: BinaryIO) -> None:
    """Write through, and forget what memory holds, so that reading back asks the drive."""
    out.flush()
    os.fsync(out.fileno())
    if hasattr(os, "posix_fadvise"):
        os.posix_fadvise(out.fileno(), 0, 0, os.POSIX_FADV_DONTNEED)


def _digest_of(place: Path, beat: Callable[[], None]) -> str:
    digest = hashlib.sha256()
    with place.open("rb") as file:
        for chunk in iter(lambda: file.read(CHUNK), b""):
            digest.update(chunk)
            beat()
    return digest.hexdigest()
