"""What a file really is, by its content. A name is a hint at most; a declared type is ignored.

Signatures: JPEG ISO/IEC 10918-1, PNG ISO/IEC 15948, TIFF 6.0, ISO base media file format
ISO/IEC 14496-12, HEIF ISO/IEC 23008-12, Matroska RFC 9559, MPEG-2 ISO/IEC 13818-1, MXF SMPTE 377,
PDF ISO 32000-1; those of cameras' raw files are common practice.
"""

import struct
from dataclasses import dataclass
from enum import StrEnum
from typing import BinaryIO

from records.intake.names import extension

HEAD_BYTES = 4096


class Kind(StrEnum):
    PICTURE = "picture"
    RAW = "raw"
    VIDEO = "video"
    PAPERS = "papers"


@dataclass(frozen=True)
class Recognised:
    kind: Kind
    media_type: str


RAW = Recognised(Kind.RAW, "image/x-raw")
PDF = Recognised(Kind.PAPERS, "application/pdf")
PDF_HEAD_WITHIN = 1024  # bytes: readers look for its mark so far
TIFF = Recognised(Kind.PICTURE, "image/tiff")
SIGNATURES = [
    (b"\xff\xd8\xff", Recognised(Kind.PICTURE, "image/jpeg")),
    (b"\x89PNG\r\n\x1a\n", Recognised(Kind.PICTURE, "image/png")),
    (b"II*\0\x10\0\0\0CR", RAW),
    (b"IIRO", RAW),
    (b"IIRS", RAW),
    (b"MMOR", RAW),
    (b"IIU\0", RAW),
    (b"FUJIFILMCCD-RAW", RAW),
    (b"FOVb", RAW),
    (b"\0MRM", RAW),
    (b"II*\0", TIFF),
    (b"MM\0*", TIFF),
    (b"II+\0", TIFF),
    (b"MM\0+", TIFF),
    (b"\x1a\x45\xdf\xa3", Recognised(Kind.VIDEO, "video/x-matroska")),
    (b"\0\0\x01\xba", Recognised(Kind.VIDEO, "video/mpeg")),
    (b"\x06\x0e\x2b\x34\x02\x05\x01\x01\x0d\x01\x02", Recognised(Kind.VIDEO, "application/mxf")),
]
HEIF_BRANDS = {b"heic", b"heix", b"heim", b"heis", b"mif1", b"msf1"}
OTHER_BRANDS = {b"avif", b"avis", b"jxl ", b"jp2 ", b"jpx ", b"M4A ", b"M4B "}
QUICKTIME_ATOMS = {b"moov", b"mdat", b"wide", b"free", b"skip"}
RAW_EXTENSIONS = frozenset(
    "3fr arw cr2 cr3 crw dcr dng erf iiq kdc mef mos mrw nef nrw orf pef raf raw rw2 rwl sr2 srf "
    "srw x3f".split()
)


def recognise(head: bytes) -> Recognised | None:
    """By the first bytes of a file (`HEAD_BYTES` suffice); None is none of what we keep."""
    for signature, what in SIGNATURES:
        if head.startswith(signature):
            return what
    if head[4:8] == b"ftyp":
        return _by_brand(head)
    if head[4:8] in QUICKTIME_ATOMS:
        return Recognised(Kind.VIDEO, "video/quicktime")
    if head[:4] == b"RIFF" and head[8:12] == b"AVI ":
        return Recognised(Kind.VIDEO, "video/x-msvideo")
    if _is_transport_stream(head):
        return Recognised(Kind.VIDEO, "video/mp2t")
    return PDF if b"%PDF-" in head[:PDF_HEAD_WITHIN] else None


def _by_brand(head: bytes) -> Recognised | None:
    major = head[8:12]
    if major == b"crx ":
        return RAW
    if major in HEIF_BRANDS:
        also = head[16 : int.from_bytes(head[:4])]
        is_hevc = major[:3] == b"hei" or any(b in also for b in (b"heic", b"heix"))
        return Recognised(Kind.PICTURE, "image/heic") if is_hevc else None
    if major in OTHER_BRANDS:
        return None
    return Recognised(Kind.VIDEO, "video/quicktime" if major == b"qt  " else "video/mp4")


def _is_transport_stream(head: bytes) -> bool:
    """Packets of 188 bytes that begin with 0x47, or of 192 with a time code before each."""
    return any(
        len(head) > first + 3 * step and all(head[first + n * step] == 0x47 for n in range(4))
        for first, step in ((0, 188), (4, 192))
    )


# Tags of TIFF 6.0 and its extensions.
SUB_IFDS, MAKE, COMPRESSION, PHOTOMETRIC, DNG_VERSION = 330, 271, 259, 262, 50706
RAW_PHOTOMETRIC = {32803, 34892}  # a colour filter array; linear raw
RAW_COMPRESSION = {34713, 32767, 32770, 65535}
WIDTHS = {1: 1, 2: 1, 3: 2, 4: 4, 7: 1, 13: 4}


def is_raw_tiff(file: BinaryIO, name: str) -> bool:
    """Whether a file with TIFF's signature is a camera's raw file rather than a picture."""
    try:
        directories = _directories(file)
    except (struct.error, OSError, OverflowError):
        return False
    for tags in directories:
        if DNG_VERSION in tags or RAW_PHOTOMETRIC & set(tags.get(PHOTOMETRIC, ())):
            return True
        if RAW_COMPRESSION & set(tags.get(COMPRESSION, ())):
            return True
    return extension(name) in RAW_EXTENSIONS and any(MAKE in tags for tags in directories)


def _directories(file: BinaryIO) -> list[dict[int, tuple[int, ...]]]:
    """The tags of the first directories of a classic TIFF, those below them included."""
    file.seek(0)
    head = file.read(8)
    order = "<" if head[:2] == b"II" else ">"
    if struct.unpack(f"{order}H", head[2:4])[0] != 42:
        return []
    ahead = [struct.unpack(f"{order}I", head[4:8])[0]]
    found: list[dict[int, tuple[int, ...]]] = []
    seen: set[int] = set()
    while ahead and len(found) < 16:
        at = ahead.pop(0)
        if at in seen or at < 8:
            continue
        seen.add(at)
        tags, following = _directory(file, order, at)
        found.append(tags)
        ahead += [*tags.get(SUB_IFDS, ()), following]
    return found


def _directory(file: BinaryIO, order: str, at: int) -> tuple[dict[int, tuple[int, ...]], int]:
    file.seek(at)
    (count,) = struct.unpack(f"{order}H", file.read(2))
    body = file.read(12 * min(count, 500) + 4)
    tags = {}
    for entry in range(min(count, 500)):
        tag, kind, values = struct.unpack_from(f"{order}HHI", body, 12 * entry)
        tags[tag] = _values(file, order, kind, values, body[12 * entry + 8 : 12 * entry + 12])
    (following,) = struct.unpack_from(f"{order}I", body, 12 * count) if count <= 500 else (0,)
    return tags, following


def _values(file: BinaryIO, order: str, kind: int, count: int, field: bytes) -> tuple[int, ...]:
    """Whole numbers of a tag; only short lists are of interest."""
    width = WIDTHS.get(kind)
    if width is None or not 0 < count <= 8:
        return ()
    if count * width > 4:
        file.seek(struct.unpack(f"{order}I", field)[0])
        field = file.read(count * width)
    letter = {1: "B", 2: "H", 4: "I"}[width]
    return struct.unpack(f"{order}{count}{letter}", field[: count * width])
