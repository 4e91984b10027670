"""Overlap as it is *seen*: what neighbouring frames show in common, held against their stations.

Planned and placed overlap are areas (`survey.coverage.overlap_fraction`). Here the pictures
themselves say how two frames lie to each other; where that is not what their placements say, the
tower slipped or stood wrong. `features_of` looks at a picture once; `compare` and `survey.slips`
need no picture any more.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

from survey.errors import Unfit, gettext_noop
from survey.measuring import AnyArray, ByteArray
from survey.placement import Placement, covered_outline, to_plane
from survey.points import FloatArray

# Some 2.7 mm a pixel from a tower; SIFT doubles that again.
LONGEST_PX = 560
MOST_FEATURES = 400
_CELLS = (8, 6)
_DETECTED = 1000

# How far a frame may lie from where its station says and still be found, m.
SEARCH_M = 0.20
# Matches that belong together agree this well: relief of 20 mm seen 0.5 m off the middle moves
# by 7 mm, lens and lean add a few.
AGREE_M = 0.012
RATIO = 0.85
LEAST_MATCHES = 10
LEAST_SHARE = 0.12  # of all matches; by chance a hundredth agree
# A pattern repeats where what matches nearly as well as the best would fit elsewhere too.
NEARLY = 1.15
RIVAL_SHARE, LEAST_RIVAL = 0.5, 25  # by chance a dozen agree
_MOST_NEARLY = 1500

# Towers stand to half a centimetre at best: less than this is no slip.
TOLERANCE_M = 0.020


@dataclass(frozen=True, eq=False)
class Features:
    """Points of a picture, (n, 2) of u, v in px of its full size, and a descriptor each,
    (n, 128) of uint8."""

    points: npt.NDArray[np.float32]
    descriptors: ByteArray
    width_px: int
    height_px: int


@dataclass(frozen=True, eq=False)
class PlacedFeatures:
    """A frame's features and the placement that takes them to the grid."""

    key: str
    features: Features
    placement: Placement


class Decision(StrEnum):
    """Whether a pair of frames lies to each other as their placements say."""

    AGREES = "agrees"
    SLIPPED = "slipped"
    UNTOLD = "untold"


@dataclass(frozen=True)
class Seen:
    """How frame `other` lies to frame `one`, against what their placements say.

    `offset_x_m`, `offset_y_m`: so much further along the grid's axes, at the middle of what
    both show; `rotation_deg`: so much further counter-clockwise. `matches` agree on it, with
    `spread_m` as the root mean square of their distances. All 0 where `unfit` says why it could
    not be told.
    """

    one: str
    other: str
    offset_x_m: float = 0.0
    offset_y_m: float = 0.0
    rotation_deg: float = 0.0
    matches: int = 0
    spread_m: float = 0.0
    unfit: Unfit | None = None

    @property
    def decision(self) -> Decision:
        """By `TOLERANCE_M`."""
        if self.unfit is not None:
            return Decision.UNTOLD
        slipped = np.hypot(self.offset_x_m, self.offset_y_m) > TOLERANCE_M
        return Decision.SLIPPED if slipped else Decision.AGREES


def features_of(picture: ByteArray) -> Features:
    """The features of a frame: SIFT on equalised grey, spread over the picture.

    The picture is shrunk to 560 px a side at most, made even by CLAHE, and of what SIFT finds
    the strongest in each of 8 × 6 cells are kept, 400 in all: about 50 kB. D. G. Lowe,
    "Distinctive image features from scale-invariant keypoints", IJCV 60, 2004 (OpenCV's).
    `picture`: (h, w) or (h, w, 3) of uint8. About 0.08 s on one core. Raises ValueError for
    another array.
    """
    if picture.dtype != np.uint8 or picture.ndim not in (2, 3) or min(picture.shape[:2]) < 48:
        raise ValueError(f"A frame is an array of uint8, not {picture.shape!r} {picture.dtype}.")
    height, width = picture.shape[:2]
    small: AnyArray = picture if picture.ndim == 2 else cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY)
    scale = max(1.0, max(width, height) / LONGEST_PX)
    size = (round(width / scale), round(height / scale))
    small = cv2.resize(small, size, interpolation=cv2.INTER_AREA)
    even = cv2.createCLAHE(clipLimit=3.0, tileGridSize=(8, 8)).apply(small)
    found, descriptors = cv2.SIFT.create(nfeatures=_DETECTED).detectAndCompute(even, None)
    if not found:
        nothing = np.zeros((0, 2), np.float32), np.zeros((0, 128), np.uint8)
        return Features(*nothing, width, height)
    kept = _spread_out(found, size)
    points = np.array([found[n].pt for n in kept], dtype=np.float64)
    full = (points + 0.5) * (np.array([width, height]) / np.array(size)) - 0.5
    whole = np.clip(np.rint(np.asarray(descriptors)[kept]), 0, 255).astype(np.uint8)
    return Features(full.astype(np.float32), whole, width, height)


def _spread_out(found: Sequence[Any], size: tuple[int, int]) -> list[int]:
    """Indices of the strongest in each cell, one point once, whatever its orientations."""
    room = MOST_FEATURES // (_CELLS[0] * _CELLS[1])
    taken: dict[tuple[int, int], int] = {}
    known: set[tuple[float, float]] = set()
    kept = []
    for n in sorted(range(len(found)), key=lambda n: -float(found[n].response)):
        u, v = found[n].pt
        cell = (int(u * _CELLS[0] / size[0]), int(v * _CELLS[1] / size[1]))
        if (u, v) not in known and taken.get(cell, 0) < room:
            known.add((u, v))
            taken[cell] = taken.get(cell, 0) + 1
            kept.append(n)
    return kept


def packed_features(features: Features) -> bytes:
    """Features as bytes: width, height (uint32), points (float32), descriptors, little-endian."""
    size = np.array([features.width_px, features.height_px], "<u4").tobytes()
    return size + features.points.astype("<f4").tobytes() + features.descriptors.tobytes()


def unpacked_features(data: bytes) -> Features:
    """The features back from `packed_features`. Raises ValueError for bytes that are none."""
    count, rest = divmod(len(data) - 8, 8 + 128)
    if len(data) < 8 or rest:
        raise ValueError(f"Features do not have {len(data)!r} bytes.")
    width, height = (int(side) for side in np.frombuffer(data[:8], "<u4"))
    points = np.frombuffer(data[8 : 8 + 8 * count], "<f4").astype(np.float32).reshape(-1, 2)
    descriptors = np.frombuffer(data[8 + 8 * count :], np.uint8).reshape(-1, 128)
    return Features(points, descriptors, width, height)


def neighbours(frames: Sequence[PlacedFeatures], least_m: float = 0.15) -> list[tuple[int, int]]:
    """Pairs of frames, by index, whose footprints' boxes share at least so much each way, m."""
    if not frames:
        return []
    outlines = [
        covered_outline(f.placement, f.features.width_px, f.features.height_px) for f in frames
    ]
    low = np.array([outline.min(axis=0) for outline in outlines])
    high = np.array([outline.max(axis=0) for outline in outlines])
    return list(_sharing(low, high, least_m))


def _sharing(low: FloatArray, high: FloatArray, least_m: float) -> Iterator[tuple[int, int]]:
    for one in range(len(low) - 1):
        shared = np.minimum(high[one + 1 :], high[one]) - np.maximum(low[one + 1 :], low[one])
        yield from ((one, one + 1 + int(n)) for n in np.flatnonzero((shared > least_m).all(axis=1)))


def compare(one: PlacedFeatures, other: PlacedFeatures) -> Seen:
    """How two frames lie to each other by what both show.

    Features within `SEARCH_M` of each other on the grid are matched (nearest both ways, Lowe's
    ratio 0.85 among those). The differences one − other of the matches' grid points vote: the
    largest set within `AGREE_M` of one of them; then R(p) + t by least squares on those that
    agree, twice. Unfit: too few features or matches, or a second answer nearly as good, as
    ripples give. About 2 ms.
    """
    ours, theirs = _on_grid(one), _on_grid(other)
    near_one, near_other = _facing(ours, theirs), _facing(theirs, ours)
    said = {"one": one.key, "other": other.key}
    if min(len(near_one), len(near_other)) < LEAST_MATCHES:
        return Seen(one.key, other.key, unfit=Unfit("few-features", _FEW_FEATURES, said))
    pairs, nearly = _matched(one, other, ours, theirs, near_one, near_other)
    here, there = ours[pairs[:, 0]], theirs[pairs[:, 1]]
    shift = here - there
    agreeing = _voted(shift)
    count = int(agreeing.sum())
    if count < max(LEAST_MATCHES, LEAST_SHARE * len(pairs)):
        return Seen(one.key, other.key, unfit=Unfit("few-matches", _FEW_MATCHES, said))
    also = ours[nearly[:, 0]] - theirs[nearly[:, 1]]
    apart = np.linalg.norm(also - np.median(shift[agreeing], axis=0), axis=1)
    rival = _voted(also[apart > 3.0 * AGREE_M]).sum()
    if rival > max(LEAST_RIVAL, RIVAL_SHARE * (apart < AGREE_M).sum()):
        return Seen(one.key, other.key, unfit=Unfit("repeating", _REPEATING, said))
    return _fitted(one.key, other.key, here, there, agreeing)


def _on_grid(frame: PlacedFeatures) -> FloatArray:
    if not len(frame.features.points):
        return np.zeros((0, 2))
    return to_plane(frame.placement, frame.features.points.astype(np.float64))


def _facing(points: FloatArray, others: FloatArray) -> npt.NDArray[np.intp]:
    """Indices of points in the other's box, grown by how far it may be off."""
    if not len(points) or not len(others):
        return np.zeros(0, dtype=np.intp)
    low, high = others.min(axis=0) - SEARCH_M, others.max(axis=0) + SEARCH_M
    return np.flatnonzero(((points > low) & (points < high)).all(axis=1))


def _matched(
    one: PlacedFeatures,
    other: PlacedFeatures,
    ours: FloatArray,
    theirs: FloatArray,
    near_one: npt.NDArray[np.intp],
    near_other: npt.NDArray[np.intp],
) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.intp]]:
    """Pairs of indices, (m, 2): those that match, and all that do so nearly as well as the best."""
    a = one.features.descriptors[near_one].astype(np.float32)
    b = other.features.descriptors[near_other].astype(np.float32)
    far = np.sum(a * a, axis=1)[:, None] + np.sum(b * b, axis=1)[None] - 2.0 * a @ b.T
    x, y = _differences(ours[near_one], theirs[near_other])
    near = (np.abs(x) < SEARCH_M) & (np.abs(y) < SEARCH_M)
    far = np.where(near, np.maximum(far, 0.0), np.inf)
    rows, best = np.arange(len(far)), far.argmin(axis=1)
    first = far[rows, best]
    second = np.partition(far, 1, axis=1)[:, 1]
    good = np.isfinite(first) & (first < RATIO**2 * second) & (far.argmin(axis=0)[best] == rows)
    nearness = far / (np.where(np.isfinite(first), first, 0.0)[:, None] + 1.0)
    row, column = np.nonzero(nearness <= NEARLY**2)
    order = np.argsort(nearness[row, column], kind="stable")[:_MOST_NEARLY]
    return (
        np.stack([near_one[rows[good]], near_other[best[good]]], axis=1),
        np.stack([near_one[row[order]], near_other[column[order]]], axis=1),
    )


def _voted(shift: FloatArray) -> npt.NDArray[np.bool_]:
    """Which shifts agree with the one that most agree with."""
    if not len(shift):
        return np.zeros(0, dtype=np.bool_)
    x, y = _differences(shift, shift)
    near = np.sqrt(x * x + y * y) < AGREE_M
    return np.asarray(near[int(np.count_nonzero(near, axis=1).argmax())])


def _differences(points: FloatArray, others: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Of each from each, (n, m), by their axes: an array of each is quicker than one of both."""
    return points[:, 0, None] - others[None, :, 0], points[:, 1, None] - others[None, :, 1]


def _fitted(
    one: str, other: str, here: FloatArray, there: FloatArray, agreeing: npt.NDArray[np.bool_]
) -> Seen:
    """R·(there − c) + c + t ≈ here, by the closed form for a small plane rotation."""
    turn, offset, rest = 0.0, np.zeros(2), np.zeros((0, 2))
    for _ in range(2):
        middle, aim = there[agreeing].mean(axis=0), here[agreeing].mean(axis=0)
        p, q = there[agreeing] - middle, here[agreeing] - aim
        turn = float(np.arctan2((p[:, 0] * q[:, 1] - p[:, 1] * q[:, 0]).sum(), (p * q).sum()))
        c, s = np.cos(turn), np.sin(turn)
        offset = aim - middle
        rest = here - (there - middle) @ np.array([[c, s], [-s, c]]) - aim
        agreeing = np.linalg.norm(rest, axis=1) < AGREE_M
        if agreeing.sum() < LEAST_MATCHES:
            break
    spread = float(np.sqrt((rest[agreeing] ** 2).sum(axis=1).mean())) if agreeing.any() else 0.0
    x_m, y_m = (float(n) for n in offset)
    return Seen(one, other, x_m, y_m, float(np.degrees(turn)), int(agreeing.sum()), spread)


_FEW_FEATURES = gettext_noop(
    "%(one)s and %(other)s show nothing in common that could be recognised: bare sand, blur, or "
    "too little overlap."
)
_FEW_MATCHES = gettext_noop(
    "Too little that %(one)s and %(other)s have in common could be recognised, so they do not say "
    "whether the tower slipped between them."
)
_REPEATING = gettext_noop(
    "What %(one)s and %(other)s have in common repeats itself, like ripples, and fits in more than "
    "one way."
)
