"""The edge of a picture, in pixels."""

import numpy as np

from survey.points import FloatArray


def picture_outline(width_px: int, height_px: int, points_a_side: int = 1) -> FloatArray:
    """The edge of a picture, [−½, w − ½] × [−½, h − ½], from the lower left corner.

    Returns (4·points_a_side, 2) of u, v, px: along the lower edge first, so that a placement
    carries it counter-clockwise. Raises ValueError for sizes or counts below 1.
    """
    check_size(width_px, height_px)
    if points_a_side < 1:
        raise ValueError(f"A side has at least one point, not {points_a_side!r}.")
    ends = np.array([[0, height_px], [width_px, height_px], [width_px, 0], [0, 0]]) - 0.5
    share = np.arange(points_a_side)[:, None] / points_a_side
    sides = [
        start + share * (end - start)
        for start, end in zip(ends, np.roll(ends, -1, axis=0), strict=True)
    ]
    return np.concatenate(sides)


def check_size(width_px: int, height_px: int) -> None:
    """Raises ValueError for a size below 1."""
    if width_px < 1 or height_px < 1:
        raise ValueError(f"A picture has at least one pixel, not {width_px!r} × {height_px!r}.")
