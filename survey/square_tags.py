"""Printed tags of squares: which number a square's tag bears, and what a frame of it says.

A tag lies somewhere in its square, any way round. Where it is seen in a frame tells, by the
tower's placement, over which stations the tower can have stood: those from which that place falls
into the square.
"""

import math
from collections.abc import Sequence

from survey.placement import Placement, Pose, metres_a_pixel, to_plane

# The outer side of the black border, as printed.
SIDE_M = 0.050
# A tag that looks larger or smaller by this factor does not lie on the ground under the tower:
# it is held up to the camera, or was photographed by hand.
SIZE_RATIO = 1.2
# A tag may lie over its square's string, and towers stand to some centimetres, m.
BESIDE_M = 0.10

# So many columns and rows until numbers begin anew: 500 in all (`survey.markers`).
_COLUMNS, _ROWS = 25, 20


def tag_number(column: int, row: int) -> int:
    """The number, 1 to 500, on the tag of a square: 1 + 20·(column mod 25) + (row mod 20).

    It follows from where the square lies, so that a tag printed again is the same. Two squares
    bear one number only where they lie 25 columns or 20 rows apart, farther than a frame reaches.
    """
    return 1 + _ROWS * (column % _COLUMNS) + row % _ROWS


def lies_on_ground(base: Placement, at_px: tuple[float, float], side_px: float) -> bool:
    """Whether a tag seen at `at_px` (u, v) with sides of `side_px` looks as large as printed."""
    side_m = side_px * float(metres_a_pixel(base, at_px))
    return SIDE_M / SIZE_RATIO < side_m < SIDE_M * SIZE_RATIO


def square_at(
    number: int, base: Placement, at_px: tuple[float, float], pose: Pose, side_m: float
) -> tuple[int, int] | None:
    """The square (column, row) of the tag `number`, if it can be seen there from a station.

    `base`: px to the tower's base, m; `at_px`: the tag's middle (u, v); `pose`: the tower on that
    station; `side_m`: of the grid's squares. None where the place lies farther than `BESIDE_M`
    outside every square of that number.
    """
    return _square_under(number, _on_base(base, at_px), pose, side_m)


def stations_seeing(
    number: int,
    base: Placement,
    at_px: tuple[float, float],
    poses: Sequence[Pose],
    side_m: float,
) -> tuple[int, ...]:
    """The stations, by their place among `poses`, from which a tag can be seen there."""
    seen_m = _on_base(base, at_px)  # once: a lens takes a millisecond
    return tuple(
        place
        for place, pose in enumerate(poses)
        if _square_under(number, seen_m, pose, side_m) is not None
    )


def _on_base(base: Placement, at_px: tuple[float, float]) -> tuple[float, float]:
    x_m, y_m = to_plane(base, at_px).tolist()
    return x_m, y_m


def _square_under(
    number: int, seen_m: tuple[float, float], pose: Pose, side_m: float
) -> tuple[int, int] | None:
    x_m, y_m = seen_m
    cos_t, sin_t = math.cos(math.radians(pose.turn_deg)), math.sin(math.radians(pose.turn_deg))
    east_m = pose.x_m + pose.foot_offset_x_m + cos_t * x_m - sin_t * y_m
    north_m = pose.y_m + pose.foot_offset_y_m + sin_t * x_m + cos_t * y_m
    for beside_x, beside_y in _ROUND:
        column = math.floor((east_m + beside_x * BESIDE_M) / side_m)
        row = math.floor((north_m + beside_y * BESIDE_M) / side_m)
        if tag_number(column, row) == number:
            return column, row
    return None


_ROUND = ((0, 0), (1, 0), (-1, 0), (0, 1), (0, -1), (1, 1), (1, -1), (-1, 1), (-1, -1))
