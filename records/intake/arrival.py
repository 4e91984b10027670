"""A file while it arrives: hashed, measured and recognised as it goes to disk, or refused."""

import errno
import hashlib
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from tempfile import NamedTemporaryFile
from typing import BinaryIO, Protocol, cast

from django.conf import settings
from django.utils.translation import gettext as _

from records.intake.recognise import HEAD_BYTES, Kind, Recognised, recognise
from records.intake.storage import PART
from records.refusals import Refused

CHUNK = 1 << 20


class Readable(Protocol):
    def read(self, size: int, /) -> bytes: ...


class NoRoom(Refused):
    """The disk is full."""

    status = 507


class BrokenOff(Refused):
    """The sender went away in the middle."""


@dataclass(frozen=True)
class Arrived:
    place: Path
    sha256: str
    size_bytes: int
    what: Recognised


@contextmanager
def received(stream: Readable, announced: int | None) -> Iterator[Arrived]:
    """The stream in a file of its own, which is gone afterwards unless it was moved away."""
    folder = incoming_folder()
    with words_for_the_disk():
        folder.mkdir(parents=True, exist_ok=True)
        spool = NamedTemporaryFile(dir=folder, suffix=PART, delete=False)
    place = Path(spool.name)
    try:
        # closing writes what is still in memory: a full disk may speak up only then
        with words_for_the_disk(), spool:
            arrived = _hashed(stream, cast(BinaryIO, spool), place)
        if announced is not None and arrived.size_bytes != announced:
            raise _broken_off()
        yield arrived
    finally:
        place.unlink(missing_ok=True)


def _hashed(stream: Readable, spool: BinaryIO, place: Path) -> Arrived:
    digest = hashlib.sha256()
    size, head, what = 0, b"", None
    for chunk in _chunks(stream):
        digest.update(chunk)
        size += len(chunk)
        head += chunk[: HEAD_BYTES - len(head)]
        if what is None and len(head) == HEAD_BYTES:
            what = _recognised(head)
        if what is not None:
            _demand_small_enough(size, what)
        _demand_room(place, len(chunk))
        with words_for_the_disk():
            spool.write(chunk)
    with words_for_the_disk():
        spool.flush()
    if size == 0:
        raise Refused(_("This file is empty (0 bytes). Copy it again from where it came."))
    return Arrived(place, digest.hexdigest(), size, what or _recognised(head))


def _chunks(stream: Readable) -> Iterator[bytes]:
    while True:
        try:
            chunk = stream.read(CHUNK)
        except OSError as error:  # of the sender or the card, not of our disk
            raise _broken_off() from error
        if not chunk:
            return
        yield chunk


def _broken_off() -> Refused:
    return BrokenOff(_("The file did not arrive whole. Nothing was kept: send it again."))


def _recognised(head: bytes) -> Recognised:
    what = recognise(head)
    if what is None:
        raise Refused(
            _(
                "Whatever its name says, this is none of the files that can be taken in: pictures "
                "(JPEG, TIFF, PNG, HEIC), cameras' raw files, videos, and under Scans PDFs. "
                "Nothing was kept."
            )
        )
    return what


def _demand_small_enough(size: int, what: Recognised) -> None:
    is_video = what.kind == Kind.VIDEO
    limit = settings.VIDEO_BYTES_MAX if is_video else settings.PICTURE_BYTES_MAX
    if size > limit:
        raise Refused(
            _("This file is larger than %(limit)d MB, the most that is taken in. Nothing was kept.")
            % {"limit": limit // 1_000_000}
        )


def _demand_room(place: Path, size: int) -> None:
    """Leave the database room to write: full disks are refused before they are full."""
    if shutil.disk_usage(place.parent).free - size < settings.DISK_RESERVE_BYTES:
        raise no_room()


def no_room() -> NoRoom:
    return NoRoom(
        _(
            "The disk of the machine that keeps the record is full. Nothing was lost, and this "
            "file was not kept. Make room on it, then send the file again."
        )
    )


@contextmanager
def words_for_the_disk() -> Iterator[None]:
    try:
        yield
    except OSError as error:
        if error.errno in {errno.ENOSPC, errno.EDQUOT, errno.EFBIG}:
            raise no_room() from error
        if error.errno in {errno.EROFS, errno.EACCES, errno.EPERM, errno.EIO}:
            raise Refused(
                _("The machine cannot write into its files folder. Nothing was kept.")
            ) from error
        raise


def incoming_folder() -> Path:
    """Where files lie while they arrive: on this machine, whatever the storage is."""
    return Path(settings.DATA_FOLDER) / "incoming"
