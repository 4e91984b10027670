"""Turning a picture by its EXIF orientation, and where its points lie then."""

from collections.abc import Sequence

TURNED = {
    "clockwise": {1: 6, 6: 3, 3: 8, 8: 1, 2: 7, 7: 4, 4: 5, 5: 2},
    "counter-clockwise": {6: 1, 3: 6, 8: 3, 1: 8, 7: 2, 4: 7, 5: 4, 2: 5},
    "over": {1: 2, 2: 1, 3: 4, 4: 3, 5: 6, 6: 5, 7: 8, 8: 7},
}
"""Orientation → the one after it; over: seen from the back of the film."""

Points = Sequence[Sequence[float]]


def turned_back(
    points: Points, quarters: int, orientation: int, size_px: tuple[int, int]
) -> tuple[list[list[float]], int]:
    """A picture turned counter-clockwise by quarters: where its points lie then (u, v, px), and
    its orientation. `size_px`: of the upright picture before."""
    width, height = size_px
    now = [[float(u), float(v)] for u, v in points]
    for _quarter in range(quarters % 4):
        now = [[v, width - 1 - u] for u, v in now]
        orientation = TURNED["counter-clockwise"][orientation]
        width, height = height, width
    return now, orientation
