"""Printed codes in a picture: which they are, where their corners lie, and what they stand for.

The codes are those of OpenCV's dictionary `DICT_6X6_1000`: 6 × 6 modules in a black border one
module wide, on white. Any two of them, turned anyhow, differ in at least 9 modules; up to two
wrong modules are mended. Source: S. Garrido-Jurado and others, "Automatic generation and
detection of highly reliable fiducial markers under occlusion", *Pattern Recognition* 47 (2014).
"""

import enum
import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from survey.errors import Unfit, gettext_noop
from survey.points import FloatArray

ByteArray = npt.NDArray[np.uint8]
BoolArray = npt.NDArray[np.bool_]
FloatArray32 = npt.NDArray[np.float32]

# Modules a side: six that carry the code, and the border.
MODULES = 8
# White modules that a print keeps free round the border; without it no edge is seen on dark sand.
QUIET_MODULES = 1
# Below this many pixels a module, codes begin to be missed.
LEAST_MODULE_PX = 4.0

_DICTIONARY = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_6X6_1000)
# A side of the border is followed from the second to the last but one module.
_ALONG = (np.arange(24) + 0.5) / 24 * (MODULES - 1.5) / MODULES + 0.75 / MODULES
# How far the edge is looked for on either side, in modules: white ends at 1, so does black.
_REACH = 0.8
_STEPS = 33


class Kind(enum.StrEnum):
    """What a code stands for; the value is its name in records."""

    BASE = "base"
    ROW_BEGINS = "row-begins"
    ROW_ENDS = "row-ends"
    RUN = "run"
    SQUARE = "square"


# Kind → its codes: the first, and how many. The number n of a kind, from 1, is code first + n − 1.
_RANGES = {
    Kind.BASE: (0, 100),
    Kind.ROW_BEGINS: (100, 50),
    Kind.ROW_ENDS: (150, 50),
    Kind.RUN: (200, 300),
    Kind.SQUARE: (500, 500),
}


@dataclass(frozen=True)
class Meaning:
    """What a code stands for: base marker, row, run or square tag number `number`, from 1."""

    kind: Kind
    number: int


@dataclass(frozen=True, eq=False)
class Marker:
    """A code found in a picture.

    `corners`: (4, 2) of u, v, px: the outer corners of its black border, in order upper left,
    upper right, lower right, lower left of the code as printed, however it lies in the picture.
    """

    code: int
    corners: FloatArray

    @property
    def meaning(self) -> Meaning:
        """What it stands for."""
        return meaning_of(self.code)

    @property
    def module_px(self) -> float:
        """The mean width of a module in the picture, px."""
        sides = np.linalg.norm(self.corners - np.roll(self.corners, -1, axis=0), axis=1)
        return float(sides.mean()) / MODULES


@dataclass(frozen=True)
class BaseMarker:
    """A code that a tower's base carries: its middle at `x_m`, `y_m` of the base, the side of its
    black border `side_m`, its upper edge turned `turn_deg` counter-clockwise from +x.

    Raises ValueError for a number not finite or a side that is not positive.
    """

    code: int
    x_m: float
    y_m: float
    side_m: float
    turn_deg: float = 0.0

    def __post_init__(self) -> None:
        meaning_of(self.code)
        if not all(math.isfinite(n) for n in (self.x_m, self.y_m, self.turn_deg)):
            raise ValueError(f"A base marker lies somewhere, not at {self!r}.")
        if not 0.0 < self.side_m < math.inf:
            raise ValueError(f"A base marker has a size, not {self.side_m!r} m.")

    @property
    def corners_m(self) -> FloatArray:
        """Its corners (4, 2) of x, y, m, in the order of `Marker.corners`."""
        cos_t, sin_t = math.cos(math.radians(self.turn_deg)), math.sin(math.radians(self.turn_deg))
        square = np.array([[-1.0, 1.0], [1.0, 1.0], [1.0, -1.0], [-1.0, -1.0]]) * self.side_m / 2
        turned = square @ np.array([[cos_t, sin_t], [-sin_t, cos_t]])
        return np.asarray(turned + np.array([self.x_m, self.y_m]))


@dataclass(frozen=True, eq=False)
class BaseMarks:
    """Marks for `place_by_marks`: `picture` (n, 2) px, `plane` (n, 2) m, four a marker, and the
    code that each belongs to. `missing`: codes of the base that the picture does not show."""

    picture: FloatArray
    plane: FloatArray
    codes: tuple[int, ...]
    missing: tuple[int, ...]


def meaning_of(code: int) -> Meaning:
    """What a code stands for. Raises ValueError for a number that is no code (0 to 999)."""
    for kind, (first, count) in _RANGES.items():
        if first <= code < first + count:
            return Meaning(kind, code - first + 1)
    raise ValueError(f"There is no code {code!r}.")


def code_for(kind: Kind, number: int) -> int:
    """The code of number `number` (from 1) of a kind. Raises ValueError beyond its last."""
    first, count = _RANGES[kind]
    if not 1 <= number <= count:
        raise ValueError(
            f"There is no code for {kind.value} {number!r}: they go from 1 to {count}."
        )
    return first + number - 1


def marker_modules(code: int) -> BoolArray:
    """The modules of a code with its border, (8, 8), true where black; row 0 is the upper one.

    Raises ValueError for a number that is no code.
    """
    meaning_of(code)
    return np.asarray(cv2.aruco.generateImageMarker(_DICTIONARY, code, MODULES) < 128)


def find_markers(grey: ByteArray) -> tuple[Marker, ...]:
    """The codes in a picture, by code, then from left to right; a code may lie in it twice.

    Found where whole, with their white rim, and at least `LEAST_MODULE_PX` a module. Corners are
    where straight lines fitted to the border's four edges meet; each edge is located where the
    brightness across it, between that of the rim and of the border, has its half area, which
    blur does not move. `grey`: (h, w) uint8, upright. Raises ValueError for another array.
    """
    if grey.dtype != np.uint8 or grey.ndim != 2 or min(grey.shape) < 1:
        raise ValueError(
            f"A grey picture is an array (h, w) of uint8, not {grey.shape!r} of {grey.dtype}."
        )
    grey = np.ascontiguousarray(grey)
    found, codes, _ = cv2.aruco.ArucoDetector(_DICTIONARY, _parameters(grey)).detectMarkers(grey)
    markers = [
        Marker(int(code), _sharpened(grey, corners.reshape(4, 2).astype(np.float64)))
        for corners, code in zip(found, [] if codes is None else np.ravel(codes), strict=True)
    ]
    return tuple(sorted(markers, key=lambda one: (one.code, *one.corners.mean(axis=0).tolist())))


def base_marks(found: Iterable[Marker], base: Sequence[BaseMarker]) -> BaseMarks | Unfit:
    """The corners of the base's markers in a picture, paired with their places on the base.

    One marker is enough for a placement, two or more leave a residual. Unfit: none of them seen,
    or one seen twice (a spare print lies in the picture). Raises ValueError for two markers of
    one code on the base.
    """
    places = {marker.code: marker.corners_m for marker in base}
    if len(places) != len(base):
        raise ValueError(f"A base carries each code once, not {[one.code for one in base]!r}.")
    seen = [marker for marker in found if marker.code in places]
    twice = [code for code, count in Counter(one.code for one in seen).items() if count > 1]
    if twice:
        sentence = gettext_noop(
            "Base marker %(number)s is in the picture twice. Cover the one that is not on the base."
        )
        return Unfit("base-marker-twice", sentence, {"number": meaning_of(twice[0]).number})
    if not seen:
        sentence = gettext_noop(
            "None of the base's markers is seen in this picture. Mark its corners by hand, or take "
            "a picture in which the markers are whole and clean."
        )
        return Unfit("no-base-marker", sentence)
    return BaseMarks(
        np.concatenate([marker.corners for marker in seen]),
        np.concatenate([places[marker.code] for marker in seen]),
        tuple(marker.code for marker in seen for _ in range(4)),
        tuple(sorted(places.keys() - {marker.code for marker in seen})),
    )


def _parameters(grey: ByteArray) -> cv2.aruco.DetectorParameters:
    """How codes are looked for; windows and limits were set on frames of seeds 1000 to 1029."""
    parameters = cv2.aruco.DetectorParameters()
    # The threshold's window, px: from one module of the smallest codes to several.
    parameters.adaptiveThreshWinSizeMin = 5
    parameters.adaptiveThreshWinSizeMax = 45
    parameters.adaptiveThreshWinSizeStep = 20
    parameters.adaptiveThreshConstant = 4.0
    parameters.minOtsuStdDev = 3.0
    # A border seen obliquely is shorter than it is; this limit only keeps pebbles out.
    parameters.minMarkerPerimeterRate = 0.7 * 4 * MODULES * LEAST_MODULE_PX / max(grey.shape)
    # The white rim's outer edge is another square close by: both are to be looked at.
    parameters.minMarkerDistanceRate = 0.02
    parameters.minDistanceToBorder = 1
    parameters.perspectiveRemovePixelPerCell = 8
    parameters.errorCorrectionRate = 0.5
    parameters.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_SUBPIX
    return parameters


def _sharpened(grey: ByteArray, corners: FloatArray) -> FloatArray:
    """The corners where the border's edges meet; as they were where an edge is not clear."""
    module_px = Marker(0, corners).module_px
    room = 2.0 * module_px + 2.0
    left, top = (int(n) for n in np.maximum(np.floor(corners.min(axis=0) - room), 0.0))
    right, bottom = (int(n) for n in np.ceil(corners.max(axis=0) + room))
    part = grey[top:bottom, left:right].astype(np.float32)
    corner = np.array([left, top])
    return np.asarray(_where_edges_meet(part, corners - corner, module_px) + corner)


def _where_edges_meet(grey: FloatArray32, corners: FloatArray, module_px: float) -> FloatArray:
    for _ in range(2):
        lines = [
            _edge(grey, start, end, module_px)
            for start, end in zip(corners, np.roll(corners, -1, axis=0), strict=True)
        ]
        meeting = np.cross([lines[-1], *lines[:-1]], lines)
        if (np.abs(meeting[:, 2]) < 1e-6).any():
            return corners
        moved = meeting[:, :2] / meeting[:, 2:]
        if np.linalg.norm(moved - corners, axis=1).max() > module_px:
            return corners
        corners = moved
    return corners


def _edge(grey: FloatArray32, start: FloatArray, end: FloatArray, module_px: float) -> FloatArray:
    """The line (a, b, c), a·u + b·v + c = 0, of the edge between two corners."""
    along = (end - start) / np.linalg.norm(end - start)
    outward = np.array([along[1], -along[0]])
    reach = np.linspace(-_REACH, _REACH, _STEPS) * module_px
    places = start + _ALONG[:, None] * (end - start)
    # Where a board fills the picture its border may have been found half a module too far in.
    rise = np.diff(_across(grey, places, reach, outward).mean(axis=0))
    places = places + outward * (reach[rise.argmax()] + reach[rise.argmax() + 1]) / 2.0
    profile = _across(grey, places, reach, outward)
    dark, bright = profile[:, :6].mean(axis=1), profile[:, -6:].mean(axis=1)
    clear = bright - dark > 0.5 * np.median(bright - dark)
    share = (bright[:, None] - profile) / np.where(clear, bright - dark, 1.0)[:, None]
    offset = reach[0] + np.trapezoid(share, reach, axis=1)
    near = clear & (np.abs(offset - np.median(offset[clear])) < 0.25 * module_px)
    on = (places + offset[:, None] * outward)[near if near.sum() >= 4 else clear]
    middle = on.mean(axis=0)
    normal = np.linalg.svd(on - middle, full_matrices=False)[2][1]
    return np.array([normal[0], normal[1], -normal @ middle])


def _across(
    grey: FloatArray32, places: FloatArray, reach: FloatArray, outward: FloatArray
) -> FloatArray32:
    """The brightness across an edge, a row a place, inside first."""
    at = (places[:, None] + reach[:, None] * outward).astype(np.float32)
    return np.asarray(cv2.remap(grey, at[..., 0], at[..., 1], cv2.INTER_LINEAR))
