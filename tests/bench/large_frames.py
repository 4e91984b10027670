"""Files of 11 and 12 megapixels, of a scene and of mere shapes.

A process of a pool imports the module of what it is given, and has not set Django up: what makes
them stands here, and nothing here imports a model.
"""

import io
from functools import cache
from pathlib import Path

import cv2
import numpy as np
from PIL import Image

from tests import scenes

SIZE = (4000, 2666)


def file_of(scene: scenes.Run, n: int) -> bytes:
    """As dense as a seabed is: the scene under fine grain."""
    cv2.setNumThreads(1)
    wide = cv2.resize(scene.frame(scene.stations[n]), SIZE, interpolation=cv2.INTER_CUBIC)
    grain = np.empty((SIZE[1], SIZE[0]), np.int16)
    cv2.setRNGSeed(n)
    cv2.randn(grain, 0, 6)
    grey = cv2.add(wide, grain, dtype=cv2.CV_8U)
    out = io.BytesIO()
    Image.fromarray(cv2.merge([grey, cv2.add(grey, 2), cv2.add(grey, 4)])).save(
        out, "JPEG", quality=88
    )
    return out.getvalue()


@cache
def grain() -> np.ndarray:
    return np.random.default_rng(3).integers(-20, 20, (3000, 4000, 1), dtype=np.int16)


def picture_of_twelve_megapixels(place: Path, number: int) -> None:
    """As dense as a seabed is: coarse shapes of its own under fine grain."""
    coarse = np.random.default_rng([3, number]).integers(0, 255, (30, 40, 3), dtype=np.uint8)
    shapes = np.asarray(Image.fromarray(coarse).resize((4000, 3000), Image.Resampling.BILINEAR))
    moved = np.roll(grain(), number * 17, axis=(0, 1))
    picture = Image.fromarray(np.clip(shapes + moved, 0, 255).astype(np.uint8))
    picture.save(place, quality=90)
