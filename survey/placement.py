"""Which pixel of a picture is which point of a plane (a tower's base or a grid).

A placement is a homography from picture pixels (u right, v down, the first pixel's centre at
(0, 0), free of lens distortion) to metres on the plane, and the lens whose distortion is taken
off first, where it is known. A set-up's placement maps the picture to the tower's base; a frame's
placement is the pose of its station on the grid after it. Every function here speaks of pixels as
they were taken.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from survey.homography import inverted, project
from survey.lens import (
    Lens,
    area_stretch,
    distort_points,
    is_before_fold,
    lens_of_derivative,
    undistort_points,
)
from survey.outline import check_size
from survey.outline import picture_outline as picture_outline
from survey.points import FloatArray, as_points

# Points a side of an outline through a lens, whose sides bend: a bow of 3 % of its side, which is
# much, is drawn to 0.02 %.
BENT_POINTS = 12


@dataclass(frozen=True)
class Placement:
    """A homography from picture px to metres on a plane: nine numbers, row by row, h₃₃ = 1.

    (x·w, y·w, w)ᵀ = H·(u, v, 1)ᵀ with u, v free of the distortion of `lens`; None: as taken. w is
    positive on the picture's side of the horizon. Scaled to h₃₃ = 1 when made (pixel (0, 0) is
    never beyond the horizon). Raises ValueError for other than nine finite numbers, h₃₃ = 0 or a
    matrix that cannot be inverted.
    """

    h: Sequence[float]
    lens: Lens | None = None

    def __post_init__(self) -> None:
        h = np.asarray(self.h, dtype=np.float64).ravel()
        if h.shape != (9,) or not np.isfinite(h).all() or h[8] == 0.0:
            raise ValueError(f"A placement is nine finite numbers, the last not 0, not {self.h!r}.")
        if np.linalg.det((h / h[8]).reshape(3, 3)) == 0.0:
            raise ValueError(f"A placement must be invertible, not {self.h!r}.")
        object.__setattr__(self, "h", tuple((h / h[8]).tolist()))

    @property
    def matrix(self) -> FloatArray:
        """The homography as a (3, 3) array."""
        return np.array(self.h).reshape(3, 3)


@dataclass(frozen=True)
class Pose:
    """Where a tower stands on a grid, and how it is turned.

    The middle of its base stands at x, y plus the foot offset (m, along the grid's axes);
    `turn_deg` counter-clockwise seen from +w. Raises ValueError for a number not finite.
    """

    x_m: float
    y_m: float
    turn_deg: float = 0.0
    foot_offset_x_m: float = 0.0
    foot_offset_y_m: float = 0.0

    def __post_init__(self) -> None:
        numbers = [self.x_m, self.y_m, self.turn_deg, self.foot_offset_x_m, self.foot_offset_y_m]
        if not all(math.isfinite(number) for number in numbers):
            raise ValueError(f"A pose must be of finite numbers, not {numbers!r}.")


def to_plane(placement: Placement, points: npt.ArrayLike) -> FloatArray:
    """Plane coordinates of picture points.

    `points`: (2,) or (n, 2) of u, v, px. Returns the same shape of x, y, m. Raises ValueError
    for other shapes, values not finite, a point on or beyond the horizon, or one beyond the fold
    of the lens (`survey.lens`), which lies outside the picture.
    """
    plane, w = project(placement.matrix, _straight(placement, as_points(points, (2,))))
    _refuse_beyond_horizon(w)
    return plane


def to_picture(placement: Placement, points: npt.ArrayLike) -> FloatArray:
    """Picture coordinates of plane points, the inverse of `to_plane`; they may lie outside it.

    `points`: (2,) or (n, 2) of x, y, m. Returns the same shape of u, v, px. Raises ValueError
    for other shapes, values not finite, a point that the camera has behind it, or one beyond the
    fold of the lens.
    """
    picture, w = project(inverted(placement.matrix), as_points(points, (2,)))
    _refuse_beyond_horizon(w)
    return picture if placement.lens is None else distort_points(placement.lens, picture)


def pictured(placement: Placement, points: FloatArray) -> FloatArray:
    """As `to_picture`, for (n, 2) points that may lie anywhere: −∞ where no picture can show them,
    behind the camera or beyond the fold of the lens."""
    picture, w = project(inverted(placement.matrix), points)
    seen = w > 0.0
    if placement.lens is not None:
        seen &= is_before_fold(placement.lens, picture)
        picture[seen] = distort_points(placement.lens, picture[seen])
    picture[~seen] = -np.inf
    return picture


def metres_a_pixel(placement: Placement, points: npt.ArrayLike) -> FloatArray:
    """How much of the plane a pixel covers, as the side of a square of that area.

    √|det H / w³| with w the third coordinate of the point: the square root of the Jacobian's
    determinant; through a lens, times that of taking its distortion off. `points`: (2,) or (n, 2)
    of u, v, px. Returns () or (n,), m a pixel. Raises ValueError as `to_plane`.
    """
    straight = _straight(placement, as_points(points, (2,)))
    w = project(placement.matrix, straight)[1]
    _refuse_beyond_horizon(w)
    area = np.abs(np.linalg.det(placement.matrix) / w**3)
    if placement.lens is not None:
        area = area / area_stretch(placement.lens, straight)
    return np.asarray(np.sqrt(area))


def placement_on_grid(set_up: Placement, pose: Pose) -> Placement:
    """A frame's placement on the grid: its set-up's placement, then its station's pose.

    H = [[cos t, −sin t, x + Δx], [sin t, cos t, y + Δy], [0, 0, 1]] · H_set-up; px → m.
    """
    cos_t, sin_t = math.cos(math.radians(pose.turn_deg)), math.sin(math.radians(pose.turn_deg))
    x_m, y_m = pose.x_m + pose.foot_offset_x_m, pose.y_m + pose.foot_offset_y_m
    rigid = np.array([[cos_t, -sin_t, x_m], [sin_t, cos_t, y_m], [0.0, 0.0, 1.0]])
    return Placement((rigid @ set_up.matrix).ravel().tolist(), set_up.lens)


def placement_of_footprint(
    width_m: float,
    height_m: float,
    width_px: int,
    height_px: int,
    turn_deg: float = 0.0,
    lens: Lens | None = None,
) -> Placement:
    """The placement of a set-up known only by its footprint, looking straight at the base.

    x = (u + ½)·W/w − W/2, y = H/2 − (v + ½)·H/h, then turned by `turn_deg` counter-clockwise
    seen from +w: the picture's middle stands on the base's middle, its upper edge toward +y at
    turn 0. Through a lens the footprint is what the middles of the picture's sides show, as a
    tape through its middle is read. `width_m`, `height_m`: what the upright picture covers on the
    base, m; `width_px`, `height_px`: its size. Raises ValueError for a size that is not positive.
    """
    check_size(width_px, height_px)
    if not (0.0 < width_m < math.inf and 0.0 < height_m < math.inf):
        raise ValueError(f"A footprint must have a size, not {width_m!r} × {height_m!r} m.")
    right, low = width_px - 0.5, height_px - 0.5
    middle_u, middle_v = (width_px - 1) / 2, (height_px - 1) / 2
    sides = np.array([[-0.5, middle_v], [right, middle_v], [middle_u, -0.5], [middle_u, low]])
    if lens is not None:
        sides = undistort_points(lens, sides)
    a, b = width_m / (sides[1, 0] - sides[0, 0]), height_m / (sides[3, 1] - sides[2, 1])
    x_0, y_0 = -a * sides[0, 0] - width_m / 2, height_m / 2 + b * sides[2, 1]
    level = Placement((a, 0.0, x_0, 0.0, -b, y_0, 0.0, 0.0, 1.0), lens)
    return placement_on_grid(level, Pose(0.0, 0.0, turn_deg))


def placement_of_derivative(placement: Placement, k_u: float, k_v: float) -> Placement:
    """The placement of a derivative of the picture, k = full ÷ derivative on each axis.

    u_full = (u + ½)·k_u − ½, v_full = (v + ½)·k_v − ½, then the full picture's placement. With
    1/k it leads from the derivative's placement back to the full picture's. Raises ValueError
    for a factor that is not positive.
    """
    if not (0.0 < k_u < math.inf and 0.0 < k_v < math.inf):
        raise ValueError(f"A derivative's factors must be positive, not {k_u!r}, {k_v!r}.")
    scale = np.array([[k_u, 0.0, (k_u - 1) / 2], [0.0, k_v, (k_v - 1) / 2], [0.0, 0.0, 1.0]])
    lens = None if placement.lens is None else lens_of_derivative(placement.lens, k_u, k_v)
    return Placement((placement.matrix @ scale).ravel().tolist(), lens)


def covered_outline(
    placement: Placement, width_px: int, height_px: int, points_a_side: int | None = None
) -> FloatArray:
    """What a picture covers of the plane: its outline through its placement, m.

    A quadrilateral where no lens is known: straight lines stay straight under a homography, so
    more points a side add nothing but places to bend. Through a lens the sides are bent, and
    drawn with `BENT_POINTS` a side unless told otherwise. Returns (4·points_a_side, 2), counter-
    clockwise from the picture's lower left corner. Raises ValueError for sizes below 1 or a
    horizon that crosses the picture.
    """
    count = points_a_side or (1 if placement.lens is None else BENT_POINTS)
    outline, w = project(
        placement.matrix, _straight_outline(placement.lens, width_px, height_px, count)
    )
    _refuse_beyond_horizon(w)
    return outline


@lru_cache(maxsize=64)
def _straight_outline(
    lens: Lens | None, width_px: int, height_px: int, points_a_side: int
) -> FloatArray:
    """All frames of a set-up share it: freed of the lens once, not for each of them."""
    outline = picture_outline(width_px, height_px, points_a_side)
    return outline if lens is None else undistort_points(lens, outline)


def _straight(placement: Placement, points: FloatArray) -> FloatArray:
    """Points as taken, free of the lens's distortion."""
    return points if placement.lens is None else undistort_points(placement.lens, points)


def _refuse_beyond_horizon(w: FloatArray) -> None:
    if (w <= 0.0).any():
        raise ValueError(
            f"A point lies on or beyond the horizon of the placement (w = {float(w.min())!r})."
        )
