"""A scene's frames as files of 12 megapixels; made in processes that know of no database."""

import io

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
