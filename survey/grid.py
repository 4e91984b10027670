"""The grid: squares and their labels, squares ↔ grid ↔ site.

Axes. Site: E, N, Z in metres, Z up. Grid: x along the columns and always level, y along the
rows, w off the plane along x̂ × ŷ (up on a plan, toward the viewer on a wall). Square (c, r)
covers x ∈ [c·s, (c+1)·s], y ∈ [r·s, (r+1)·s].
"""

import math
from dataclasses import dataclass, field
from enum import Enum

import numpy as np
import numpy.typing as npt

from survey.errors import Unfit, UnfitError, gettext_noop
from survey.labels import (
    LabelKind,
    LabelStyle,
    Square,
    label_of_square,
    label_problem,
    read_label,
)
from survey.points import FloatArray, IntArray, as_points

__all__ = [
    "SITE_LIMIT_M",
    "Direction",
    "GridFrame",
    "LabelKind",
    "LabelStyle",
    "Square",
    "axes",
    "corners",
    "label_of",
    "neighbours",
    "offsets_in_square",
    "point_from_offsets",
    "square_at",
    "square_of_label",
    "squares_at",
    "squares_in_block",
    "to_grid",
    "to_site",
    "turn_on_page_deg",
    "why_no_label",
]

# Site coordinates are local and flat; farther from their origin they would have to know the
# shape of the earth.
SITE_LIMIT_M = 50_000.0

# A quotient this close to a whole number counts as that number: 0.3 m at a side of 0.1 m lies
# in column 3, although 0.3 / 0.1 is 2.9999999999999996 in binary.
_WHOLE_WITHIN = 1e-9


class Direction(Enum):
    """A side or corner of a square as it is drawn, +y up: the step in (columns, rows)."""

    UP = (0, 1)
    UP_RIGHT = (1, 1)
    RIGHT = (1, 0)
    DOWN_RIGHT = (1, -1)
    DOWN = (0, -1)
    DOWN_LEFT = (-1, -1)
    LEFT = (-1, 0)
    UP_LEFT = (-1, 1)
    MIDDLE = (0, 0)


@dataclass(frozen=True)
class GridFrame:
    """How a grid lies in its site, how wide its squares are and how they are called.

    Origin: site E, N, Z in m, within 50 km of the site's origin. `bearing_deg`: clockwise from
    site north, the level direction in which y runs (at slope 90: in which one looks).
    `slope_deg`: −90 < δ ≤ 90, positive where the plane rises along y; 0 a plan, 90 an
    elevation. `side_m`: side of a square, whole metres where labels are corner coordinates.
    Raises UnfitError with the value that cannot be used.
    """

    origin_e_m: float = 0.0
    origin_n_m: float = 0.0
    origin_z_m: float = 0.0
    bearing_deg: float = 0.0
    slope_deg: float = 0.0
    side_m: float = 1.0
    labels: LabelStyle = field(default_factory=LabelStyle)

    def __post_init__(self) -> None:
        problem = _frame_problem(self)
        if problem is not None:
            raise UnfitError(problem)


def axes(frame: GridFrame) -> FloatArray:
    """The unit vectors x̂, ŷ, ŵ of the grid in the site, as the rows of a (3, 3) array.

    x̂ = (cos β, −sin β, 0); ŷ = (sin β cos δ, cos β cos δ, sin δ);
    ŵ = x̂ × ŷ = (−sin β sin δ, −cos β sin δ, cos δ). Right-handed; no unit.
    """
    cos_b, sin_b = _cos_sin(frame.bearing_deg)
    cos_d, sin_d = _cos_sin(frame.slope_deg)
    return np.array(
        [
            [cos_b, -sin_b, 0.0],
            [sin_b * cos_d, cos_b * cos_d, sin_d],
            [-sin_b * sin_d, -cos_b * sin_d, cos_d],
        ]
    )


def to_site(frame: GridFrame, points: npt.ArrayLike) -> FloatArray:
    """Site coordinates of grid points.

    (E, N, Z) = (E₀, N₀, Z₀) + x·x̂ + y·ŷ + w·ŵ. `points`: (2,) or (n, 2) of x, y on the plane,
    (3,) or (n, 3) of x, y, w; m. Returns (3,) or (n, 3), m.
    Raises ValueError for other shapes, values not finite, or a point beyond 50 km.
    """
    grid = as_points(points, (2, 3))
    site = _origin(frame) + grid @ axes(frame)[: grid.shape[-1]]
    _refuse_far(site)
    return site


def to_grid(frame: GridFrame, points: npt.ArrayLike) -> FloatArray:
    """Grid coordinates of site points, the inverse of `to_site`.

    x = p·x̂, y = p·ŷ, w = p·ŵ with p the point less the grid's origin. `points`: (3,) or (n, 3)
    of E, N, Z; m. Returns (3,) or (n, 3) of x, y, w; w is how far off the plane, m.
    Raises ValueError for other shapes, values not finite, or a point beyond 50 km.
    """
    site = as_points(points, (3,))
    _refuse_far(site)
    return np.asarray((site - _origin(frame)) @ axes(frame).T)


def turn_on_page_deg(frame: GridFrame, direction: tuple[float, float, float]) -> float:
    """How a direction of the site lies on a page that shows the plane with +y up.

    Clockwise from up, 0 ≤ turn < 360: atan2(d·x̂, d·ŷ), the direction d (E, N, Z) as it falls on
    the plane; so site north, (0, 1, 0), lies −β on a level grid. Raises ValueError for a
    direction at right angles to the plane.
    """
    along_x, along_y = (axes(frame)[:2] @ np.asarray(direction, float)).tolist()
    if math.hypot(along_x, along_y) < _WHOLE_WITHIN:
        raise ValueError(f"The direction {direction!r} stands on the plane.")
    return math.degrees(math.atan2(along_x, along_y)) % 360.0


def square_at(frame: GridFrame, x_m: float, y_m: float) -> Square:
    """The square that a grid point belongs to: column ⌊x/s⌋, row ⌊y/s⌋.

    A point on an edge belongs to the square on the +x, +y side. Raises ValueError for
    coordinates that are not finite.
    """
    column, row = squares_at(frame, [x_m, y_m])
    return Square(int(column), int(row))


def squares_at(frame: GridFrame, points: npt.ArrayLike) -> IntArray:
    """Columns and rows of many grid points, by the rule of `square_at`.

    `points`: (n, 2), or (n, 3) of which w is not used; m. Returns (n, 2) integers (column, row);
    for a single point (2,). Raises ValueError for other shapes and values not finite.
    """
    quotient = as_points(points, (2, 3))[..., :2] / frame.side_m
    nearest = np.rint(quotient)
    whole = np.abs(quotient - nearest) < _WHOLE_WITHIN
    return np.where(whole, nearest, np.floor(quotient)).astype(np.int64)


def offsets_in_square(
    frame: GridFrame, column: int, row: int, x_m: float, y_m: float
) -> tuple[float, float]:
    """Offsets of a grid point from a square's corner nearest −x −y: x − c·s, y − r·s; m.

    Between 0 and s where the point lies in the square; under a nanometre reads 0. Raises
    ValueError for coordinates that are not finite.
    """
    point = as_points([x_m, y_m], (2,))
    offsets = point - np.array([column, row]) * frame.side_m
    offsets[np.abs(offsets) < _WHOLE_WITHIN] = 0.0
    return float(offsets[0]), float(offsets[1])


def point_from_offsets(
    frame: GridFrame, column: int, row: int, offset_x_m: float, offset_y_m: float
) -> tuple[float, float]:
    """The grid point (x, y) at offsets from a square's corner nearest −x −y; m.

    x = c·s + Δx, y = r·s + Δy, the inverse of `offsets_in_square`. Raises ValueError for
    offsets that are not finite.
    """
    offsets = as_points([offset_x_m, offset_y_m], (2,))
    x_m, y_m = np.array([column, row]) * frame.side_m + offsets
    return float(x_m), float(y_m)


def corners(frame: GridFrame, column: int, row: int) -> FloatArray:
    """The corners of a square on the grid, (4, 2), m.

    From the corner nearest −x −y counter-clockwise as seen from +w: on a plan with bearing 0
    south-west, south-east, north-east, north-west.
    """
    unit = np.array([[0, 0], [1, 0], [1, 1], [0, 1]])
    return np.asarray((unit + np.array([column, row])) * frame.side_m)


def neighbours(column: int, row: int) -> dict[Direction, Square]:
    """The eight squares around a square, by the direction in which they lie."""
    return {
        direction: Square(column + direction.value[0], row + direction.value[1])
        for direction in Direction
        if direction is not Direction.MIDDLE
    }


def squares_in_block(one: tuple[int, int], other: tuple[int, int]) -> list[Square]:
    """All squares of the block that has these two (column, row) at opposite corners, sorted."""
    columns = range(min(one[0], other[0]), max(one[0], other[0]) + 1)
    rows = range(min(one[1], other[1]), max(one[1], other[1]) + 1)
    return [Square(column, row) for column in columns for row in rows]


def label_of(frame: GridFrame, column: int, row: int) -> str:
    """The label of a square, `K7` or `104/212`.

    Raises UnfitError for a square that can bear none; ask `why_no_label` before making one.
    """
    return label_of_square(frame.labels, frame.side_m, column, row)


def why_no_label(frame: GridFrame, column: int, row: int) -> Unfit | None:
    """Why the grid cannot grow to this square (before A, before 1), in words; None if it can."""
    return label_problem(frame.labels, frame.side_m, column, row)


def square_of_label(frame: GridFrame, text: str) -> Square | Unfit:
    """The square that a person means by "K7", "k7" or " K 7 "; no label: an Unfit in words."""
    return read_label(frame.labels, frame.side_m, text)


def _origin(frame: GridFrame) -> FloatArray:
    return np.array([frame.origin_e_m, frame.origin_n_m, frame.origin_z_m])


def _cos_sin(angle_deg: float) -> tuple[float, float]:
    """Cosine and sine, exact at whole quarter turns."""
    quarter = {0.0: (1.0, 0.0), 90.0: (0.0, 1.0), 180.0: (-1.0, 0.0), 270.0: (0.0, -1.0)}
    angle = angle_deg % 360.0
    return quarter.get(angle, (math.cos(math.radians(angle)), math.sin(math.radians(angle))))


def _refuse_far(site: FloatArray) -> None:
    distance_m = np.sqrt((site**2).sum(axis=-1)).max(initial=0.0)
    if distance_m > SITE_LIMIT_M:
        raise ValueError(
            f"A point {float(distance_m)!r} m from the site's origin is beyond {SITE_LIMIT_M!r} m."
        )


def _frame_problem(frame: GridFrame) -> Unfit | None:
    numbers = {
        name: getattr(frame, name)
        for name in ("origin_e_m", "origin_n_m", "origin_z_m", "bearing_deg", "slope_deg", "side_m")
    }
    for name, value in numbers.items():
        if not math.isfinite(value):
            sentence = gettext_noop("%(name)s is %(value)s; it must be a number.")
            return Unfit("not-finite", sentence, {"name": name, "value": repr(value)})
    if math.hypot(frame.origin_e_m, frame.origin_n_m, frame.origin_z_m) > SITE_LIMIT_M:
        sentence = gettext_noop(
            "The grid's origin (%(e)s, %(n)s, %(z)s) is more than 50 km from the site's origin: "
            "site coordinates are local."
        )
        values = {"e": frame.origin_e_m, "n": frame.origin_n_m, "z": frame.origin_z_m}
        return Unfit("beyond-site", sentence, values)
    if not -90.0 < frame.slope_deg <= 90.0:
        sentence = gettext_noop(
            "The slope is %(slope)s°; it must be more than −90° and at most 90°."
        )
        return Unfit("slope", sentence, {"slope": frame.slope_deg})
    if frame.side_m <= 0.0:
        sentence = gettext_noop("The side of a square is %(side)s m; it must be more than 0.")
        return Unfit("side", sentence, {"side": frame.side_m})
    if frame.labels.kind is LabelKind.CORNER and frame.side_m != int(frame.side_m):
        sentence = gettext_noop(
            "Squares called by their corner need a side of whole metres, not %(side)s m."
        )
        return Unfit("side-not-whole", sentence, {"side": frame.side_m})
    return None
