"""Originals: hashed while they arrive, kept under their digest, never twice, never altered.

Everything here happens *before* the transaction that records the file. Only this module knows
where originals lie.
"""

import datetime
import hashlib
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from enum import Enum
from functools import cached_property
from pathlib import Path
from typing import BinaryIO, cast

from django.core.files.base import File
from django.core.files.storage import Storage, storages
from django.utils.translation import gettext as _

from records.intake import decode, exif, pdf_pages
from records.intake.arrival import (
    CHUNK,
    Arrived,
    Readable,
    received,
    words_for_the_disk,
)
from records.intake.recognise import RAW, Kind, Recognised, is_raw_tiff
from records.intake.storage import listed
from records.models import StoredFile
from records.refusals import Refused

FOLDER = "originals"


class Pages(Enum):
    """What is taken in where a file comes in: PDFs only with all their pages."""

    FIRST = "of several pages the first is shown"
    ONE = "a file of several pages is refused"
    ALL = "each page may become a picture"


class OriginalMissing(Refused):
    """An original is not in its place."""


@dataclass(frozen=True)
class Kept:
    """An original that is safe under its digest. No row tells of it yet."""

    sha256: str
    size_bytes: int
    what: Recognised
    seen: decode.Decoded
    is_new: bool


class _Spooled(File):  # type: ignore[type-arg]
    """A received file that a storage on the same drive may simply move.

    It is opened only by a storage that must read it: an open file cannot be moved on Windows.
    """

    def __init__(self, place: Path) -> None:
        self.place = place
        self.name = place.name
        self.mode = "rb"

    @cached_property
    def file(self) -> BinaryIO:  # type: ignore[override]
        return self.place.open("rb")

    def close(self) -> None:
        if "file" in self.__dict__:
            self.file.close()

    def temporary_file_path(self) -> str:
        return str(self.place)


def keep(
    stream: Readable,
    *,
    name: str = "",
    size_bytes: int | None = None,
    pages: Pages = Pages.FIRST,
) -> Kept:
    """Take a file in: whole, recognised by its content, decoded if it is a picture.

    `size_bytes` is what the sender announced, `name` no more than a hint. Refuses in words and
    then leaves nothing behind.
    """
    with received(stream, size_bytes) as arrived:
        with arrived.place.open("rb") as file:
            what = _really(arrived.what, file, name)
            if what.kind == Kind.PAPERS and pages is not Pages.ALL:
                raise Refused(_to_the_scans())
            seen = _seen(file, what)
        if seen.pages > 1 and pages is Pages.ONE:
            raise Refused(_to_the_scans())
        is_new = _put(arrived)
    return Kept(arrived.sha256, arrived.size_bytes, what, seen, is_new)


def _to_the_scans() -> str:
    return _(
        "This is a PDF or a file of several pages. Nothing was kept. Drop it under Scans: there "
        "each page becomes a scan, and corners can be marked by hand too."
    )


def _really(seen: Recognised, file: BinaryIO, name: str) -> Recognised:
    is_raw = seen.media_type == "image/tiff" and is_raw_tiff(file, name)
    return RAW if is_raw else seen


def _seen(file: BinaryIO, what: Recognised) -> decode.Decoded:
    """Pictures are decoded in full; raw files and videos are kept untouched, undecoded, and the
    pages of a PDF are counted."""
    if what.kind == Kind.PICTURE:
        return decode.check_whole(file, what.media_type)
    if what.kind == Kind.PAPERS:
        return decode.Decoded(None, None, exif.Facts(), pdf_pages.count_pages(file))
    facts = exif.read_raw(file) if what.kind == Kind.RAW else exif.Facts()
    return decode.Decoded(None, None, facts)


def _put(arrived: Arrived) -> bool:
    """Under its digest; an existing one is success. Returns whether it is new."""
    storage, name = _storage(), name_of(arrived.sha256)
    if storage.exists(name):
        _demand_same_size(storage, name, arrived.size_bytes)
        return False
    with words_for_the_disk(), closing(_Spooled(arrived.place)) as file:
        saved = storage.save(name, file)
    if saved != name:  # a storage that lets nobody be second: the first one's bytes are the same
        storage.delete(saved)
        return False
    return True


def _demand_same_size(storage: Storage, name: str, size_bytes: int) -> None:
    if storage.size(name) != size_bytes:
        raise Refused(
            _(
                "This file is kept already, but the kept one is damaged. Nothing was changed. "
                "Tell the director: it must be brought back from the second copy."
            )
        )


def open_original(file: StoredFile) -> BinaryIO:
    """The one door to an original's bytes; refuses in words if it is not in its place."""
    try:
        return cast(BinaryIO, _storage().open(name_of(file.sha256), "rb"))
    except FileNotFoundError as error:
        raise OriginalMissing(
            _(
                "The original of this picture is not in its place. Nothing was changed. Tell the "
                "director: it may be on the second copy."
            )
        ) from error


def verify_original(file: StoredFile) -> bool:
    """Whether what is kept still has the digest it was kept under."""
    digest = hashlib.sha256()
    with open_original(file) as original:
        for chunk in iter(lambda: original.read(CHUNK), b""):
            digest.update(chunk)
    return digest.hexdigest() == file.sha256


def is_in_place(file: StoredFile) -> bool:
    """Quick: it is there, and as long as it was."""
    name = name_of(file.sha256)
    return _storage().exists(name) and _storage().size(name) == file.size_bytes


def kept_digests() -> Iterator[str]:
    """The digests of all originals that are kept, with or without a row."""
    storage = _storage()
    for part in listed(storage, FOLDER)[0]:
        for name in listed(storage, f"{FOLDER}/{part}")[1]:
            if len(name) == 64 and name.startswith(part):
                yield name


def kept_since(sha256: str) -> datetime.datetime:
    """When an original came in, by its storage."""
    return _storage().get_modified_time(name_of(sha256))


def name_of(sha256: str) -> str:
    return f"{FOLDER}/{sha256[:2]}/{sha256}"


def _storage() -> Storage:
    return storages["default"]
