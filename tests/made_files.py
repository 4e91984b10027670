"""Files for tests, made in memory: pictures of every kind that is taken in, and bad ones."""

import struct
import zlib
from io import BytesIO
from typing import Any

import numpy as np
import pillow_heif
from PIL import ExifTags, Image
from PIL.TiffImagePlugin import IFDRational

pillow_heif.register_heif_opener()

EXIF = {
    "Make": "Pelagia",
    "Model": "Pelagia 24",
    "Orientation": 6,
}
EXIF_DETAILS = {
    "DateTimeOriginal": "2031:06:10 09:15:02",
    "SubsecTimeOriginal": "25",
    "OffsetTimeOriginal": "+02:00",
    "ExposureTime": (1, 125),
    "FNumber": (56, 10),
    "ISOSpeedRatings": 400,
    "FocalLength": (24, 1),
}


def pixels(width: int = 64, height: int = 48, seed: int = 1) -> Image.Image:
    """Blotches that differ with the seed; no two files are alike."""
    random = np.random.default_rng(seed)
    coarse = random.integers(0, 255, (4, 4, 3), dtype=np.uint8)
    picture = Image.fromarray(coarse).resize((width, height), Image.Resampling.BICUBIC)
    grain = random.integers(-9, 9, (height, width, 3))
    return Image.fromarray(np.clip(np.asarray(picture) + grain, 0, 255).astype(np.uint8))


def exif_block(tags: dict[str, Any] | None = None, **details: Any) -> Image.Exif:
    block = Image.Exif()
    for name, value in (EXIF if tags is None else tags).items():
        block[ExifTags.Base[name]] = value
    below = block.get_ifd(ExifTags.IFD.Exif)
    for name, value in (EXIF_DETAILS | details).items():
        if value is not None:
            below[ExifTags.Base[name]] = IFDRational(*value) if isinstance(value, tuple) else value
    return block


def encoded(picture: Image.Image, kind: str, **options: Any) -> bytes:
    out = BytesIO()
    picture.save(out, kind, **options)
    return out.getvalue()


def jpeg(width: int = 64, height: int = 48, seed: int = 1, **options: Any) -> bytes:
    return encoded(pixels(width, height, seed), "JPEG", **{"quality": 90} | options)


def png(width: int = 64, height: int = 48, seed: int = 1) -> bytes:
    return encoded(pixels(width, height, seed), "PNG")


def tiff(width: int = 64, height: int = 48, seed: int = 1, **options: Any) -> bytes:
    return encoded(pixels(width, height, seed), "TIFF", **options)


def heic(width: int = 64, height: int = 48, seed: int = 1, **options: Any) -> bytes:
    return encoded(pixels(width, height, seed), "HEIF", **options)


def tiff_of(*entries: tuple[int, int, int, int], more: bytes = b"", following: int = 0) -> bytes:
    """A TIFF of one directory with these (tag, type, count, value or offset)."""
    body = b"".join(struct.pack("<HHII", *entry) for entry in sorted(entries))
    return (
        struct.pack("<2sHIH", b"II", 42, 8, len(entries))
        + body
        + struct.pack("<I", following)
        + more
    )


def raw(seed: int = 1) -> bytes:
    """As a camera's raw file is built: a TIFF whose pixels are a colour filter array (32803)."""
    entries = [(256, 4, 1, 4000), (257, 4, 1, 3000), (262, 3, 1, 32803)]
    return tiff_of(*entries, more=np.random.default_rng(seed).bytes(5000))


def video(seed: int = 1) -> bytes:
    """The head of an MP4 file and a body that nobody decodes."""
    head = struct.pack(">I4s4sI4s4s", 24, b"ftyp", b"isom", 512, b"isom", b"mp41")
    body = np.random.default_rng(seed).bytes(8000)
    return head + struct.pack(">I4s", len(body) + 8, b"mdat") + body


def png_header(width: int, height: int) -> bytes:
    """A PNG that announces a size and then holds next to nothing."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        crc = struct.pack(">I", zlib.crc32(kind + data))
        return struct.pack(">I", len(data)) + kind + data + crc

    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", header)
        + chunk(b"IDAT", zlib.compress(b"\0" * 100))
        + chunk(b"IEND", b"")
    )


def jpeg_header(width: int, height: int) -> bytes:
    """A whole little JPEG whose frame header is rewritten to announce another size."""
    whole = bytearray(jpeg(16, 16))
    at = whole.index(b"\xff\xc0") + 5
    whole[at : at + 4] = struct.pack(">HH", height, width)
    return bytes(whole)
