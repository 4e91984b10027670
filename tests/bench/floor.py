"""The least that taking in a picture can cost: no database, no checks, no flush to disk."""

import hashlib
import time
from io import BytesIO
from pathlib import Path

from PIL import Image

SCREEN, THUMB = (1600, 1200), (320, 240)


def floor(place: Path, out: Path) -> str:
    content = place.read_bytes()
    digest = hashlib.sha256(content).hexdigest()
    with Image.open(BytesIO(content)) as picture:
        picture.load()
        screen = picture.resize(SCREEN, Image.Resampling.BICUBIC, reducing_gap=2.0)
    thumb = screen.resize(THUMB, Image.Resampling.BICUBIC, reducing_gap=2.0)
    screen.save(out / f"{digest}-screen.jpg", quality=82)
    thumb.save(out / f"{digest}-thumb.jpg", quality=78)
    return digest


def decoded(data: bytes) -> float:
    """Processor time of decoding a picture once, s."""
    began = time.process_time()
    with Image.open(BytesIO(data)) as picture:
        picture.load()
    return time.process_time() - began
