"""Pictures with printed codes in them, of known truth: a seabed, murk, blur and noise.

The codes come from OpenCV's own generator, and are drawn by asking each pixel's samples where
they lie on the sheet. Nothing here knows how codes are looked for.
"""

from dataclasses import dataclass, field
from functools import lru_cache

import cv2
import numpy as np

DICTIONARY = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_6X6_1000)
MODULES = 8  # a side, the black border with it
QUIET = 1  # white modules round it
SAMPLES = 3  # a pixel, each way


@dataclass
class Scene:
    """A picture and what is in it: `truth`, id → corners (4, 2) px; `module_px`, id → size."""

    grey: np.ndarray
    truth: dict = field(default_factory=dict)
    module_px: dict = field(default_factory=dict)


@lru_cache(8)
def seabed(seed, width, height):
    """Sand in several grains, stones with shadows, a chequered scale and a string grid."""
    random = np.random.default_rng(seed)
    bed = np.full((height, width), 120.0, np.float32)
    for cell, swing in ((200, 18), (60, 14), (17, 10), (5, 8), (2, 6)):
        shape = (height // cell + 2, width // cell + 2)
        small = swing * random.standard_normal(shape, dtype=np.float32)
        bed += cv2.resize(small, (width, height), interpolation=cv2.INTER_CUBIC)
    for _ in range(40):
        centre = (int(random.integers(width)), int(random.integers(height)))
        axes = tuple(int(axis) for axis in random.integers(8, 90, 2))
        turn = float(random.uniform(0, 180))
        shadow = (centre[0] + axes[0] // 4, centre[1] + axes[1] // 4)
        cv2.ellipse(bed, shadow, axes, turn, 0, 360, float(random.uniform(20, 60)), -1)
        cv2.ellipse(bed, centre, axes, turn, 0, 360, float(random.uniform(70, 210)), -1)
    _scale(bed, random)
    for at in np.linspace(0.1, 0.9, 5):
        cv2.line(bed, (int(width * at), 0), (int(width * at) + 20, height), 215.0, 3)
        cv2.line(bed, (0, int(height * at)), (width, int(height * at) - 15), 215.0, 3)
    return bed


def _scale(bed, random):
    """A scale bar in black and white pieces, and a block of chequers, as lie in many pictures."""
    height, width = bed.shape
    left, top = int(random.integers(width - 420)), int(random.integers(height - 160))
    for piece in range(10):
        bed[top : top + 40, left + 40 * piece : left + 40 * (piece + 1)] = 230 if piece % 2 else 25
    for row in range(3):
        for column in range(3):
            part = np.s_[top + 50 + 30 * row : top + 80 + 30 * row]
            bed[part, left + 30 * column : left + 30 * column + 30] = (
                230 if (row + column) % 2 else 25
            )


def frame_with_codes(seed, codes, *, width=1200, height=900, module_px=(4.0, 9.0)):
    """A frame in which each code is whole and its smallest module at least `module_px[0]` wide."""
    random = np.random.default_rng(seed)
    bed = np.roll(seabed(seed % 4, width, height), random.integers(0, 1000, 2), axis=(0, 1))
    scene = Scene(bed)
    columns, rows = 4, 3
    cells = random.permutation(columns * rows)[: len(codes)]
    for code, cell in zip(codes, cells, strict=True):
        size = float(random.uniform(*module_px))
        middle = np.array([cell % columns + 0.5, cell // columns + 0.5])
        middle *= np.array([width / columns, height / rows])
        to_px = _view(random, size, module_px[0])
        to_px = np.array([[1, 0, middle[0]], [0, 1, middle[1]], [0, 0, 1]]) @ to_px
        _draw(scene, code, to_px)
        scene.module_px[code] = size
    scene.grey = as_taken(scene.grey, random)
    return scene


def _view(random, size, least):
    """Modules, counted from the code's middle, to px: turned anyhow, tilted up to 30°."""
    turn, tilt, toward = random.uniform(0, 2 * np.pi), random.uniform(0, 0.52), random.uniform(0, 7)
    turned = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    axis = np.array([np.cos(toward), np.sin(toward)])
    shrink = np.eye(2) - (1 - np.cos(tilt)) * np.outer(axis, axis)
    size = max(size, least / np.cos(tilt) * 1.03)
    matrix = np.eye(3)
    matrix[:2, :2] = size * shrink @ turned
    matrix[2, :2] = np.sin(tilt) * 0.15 / 40 * axis @ turned
    return matrix


def _draw(scene, code, to_px):
    """Paint a code: each pixel is the mean of its samples' colours on the sheet."""
    picture = cv2.aruco.generateImageMarker(DICTIONARY, code, MODULES) > 127
    sheet = np.pad(picture, QUIET, constant_values=True)
    half = MODULES / 2 + QUIET
    edge = _through(to_px, half * np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]))
    low, high = np.floor(edge.min(0)).astype(int) - 1, np.ceil(edge.max(0)).astype(int) + 2
    step = (np.arange((high[0] - low[0]) * SAMPLES) + 0.5) / SAMPLES - 0.5 + low[0]
    down = (np.arange((high[1] - low[1]) * SAMPLES) + 0.5) / SAMPLES - 0.5 + low[1]
    u, v = np.meshgrid(step, down)
    at = _through(np.linalg.inv(to_px), np.stack([u.ravel(), v.ravel()], 1)).reshape(*u.shape, 2)
    on = (np.abs(at) < half).all(axis=2)
    cell = np.clip(np.floor(at + half).astype(int), 0, MODULES + 2 * QUIET - 1)
    colour = np.where(sheet[cell[..., 1], cell[..., 0]], 225.0, 30.0)
    part = np.s_[low[1] : high[1], low[0] : high[0]]
    under = np.repeat(np.repeat(scene.grey[part], SAMPLES, 0), SAMPLES, 1)
    blocks = np.where(on, colour, under).reshape(high[1] - low[1], SAMPLES, -1, SAMPLES)
    scene.grey[part] = blocks.mean(axis=(1, 3))
    scene.truth[code] = _through(
        to_px, MODULES / 2 * np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]])
    )


def _through(matrix, points):
    mapped = np.column_stack([points, np.ones(len(points))]) @ matrix.T
    return mapped[:, :2] / mapped[:, 2:]


def as_taken(scene, random):
    """Through murk (contrast down to a third over a veil), a lamp's fall-off, blur and noise."""
    height, width = scene.shape
    kept, veil = random.uniform(0.33, 1.0), random.uniform(70, 160)
    u, v = np.linspace(-1, 1, width, dtype=np.float32), np.linspace(-1, 1, height)[:, None]
    light = 1.0 - random.uniform(0.1, 0.45) * (u**2 + v**2) / 2
    seen = (veil + (scene - veil) * kept) * light
    seen = cv2.GaussianBlur(seen.astype(np.float32), (0, 0), 0.8)
    noise = random.standard_normal(seen.shape, dtype=np.float32)
    seen += random.uniform(1.5, 4.0) * noise
    return np.clip(np.rint(seen), 0, 255).astype(np.uint8)
