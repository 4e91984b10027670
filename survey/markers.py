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

from survey.code_edges import (
    ByteArray,
    demand_grey,
    detector_parameters,
    module_px,
    sharpened,
)
from survey.errors import Unfit, gettext_noop
from survey.points import FloatArray

BoolArray = npt.NDArray[np.bool_]

# Modules a side: six that carry the code, and the border.
MODULES = 8
# White modules that a print keeps free round the border; without it no edge is seen on dark sand.
QUIET_MODULES = 1

_DICTIONARY = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_6X6_1000)


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
        return module_px(self.corners, MODULES)


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

    Found where whole, with their white rim, and at least 4 px a module. Corners are
    where straight lines fitted to the border's four edges meet; each edge is located where the
    brightness across it, between that of the rim and of the border, has its half area, which
    blur does not move. `grey`: (h, w) uint8, upright. Raises ValueError for another array.
    """
    demand_grey(grey)
    grey = np.ascontiguousarray(grey)
    found, codes, _ = cv2.aruco.ArucoDetector(
        _DICTIONARY, detector_parameters(grey, MODULES)
    ).detectMarkers(grey)
    markers = [
        Marker(int(code), sharpened(grey, corners.reshape(4, 2).astype(np.float64), MODULES))
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
