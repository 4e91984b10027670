"""How much of a square do footprints cover, and where are the holes.

A footprint is an outline on the grid, (k, 2) in metres, as `survey.placement.covered_outline`
gives it. Several footprints count by their union: what two frames share counts once.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

import numpy as np
import numpy.typing as npt
import shapely

from survey.grid import GridFrame, Square, squares_at
from survey.points import FloatArray, IntArray, as_points

# A hole smaller than this share of its square is not told: at a side of 1 m it is 10 cm², a gap
# of a millimetre along one edge, and stations are known to a centimetre at best. It still counts
# in the fraction. A season lets 2 % pass, twenty times as much.
SLIVER_FRACTION = 0.001

# What is left over snaps to a micrometre, so that edges that meet on paper meet in binary too.
_SNAP_M = 1e-6


class Where(StrEnum):
    """Where a hole lies in its square, as the square is drawn, +y up."""

    UP_LEFT = "up-left"
    UP = "up"
    UP_RIGHT = "up-right"
    LEFT = "left"
    MIDDLE = "middle"
    RIGHT = "right"
    DOWN_LEFT = "down-left"
    DOWN = "down"
    DOWN_RIGHT = "down-right"
    AROUND = "around"


_BY_STEP: Mapping[tuple[int, int], Where] = {
    (-1, 1): Where.UP_LEFT,
    (0, 1): Where.UP,
    (1, 1): Where.UP_RIGHT,
    (-1, 0): Where.LEFT,
    (0, 0): Where.MIDDLE,
    (1, 0): Where.RIGHT,
    (-1, -1): Where.DOWN_LEFT,
    (0, -1): Where.DOWN,
    (1, -1): Where.DOWN_RIGHT,
}


@dataclass(frozen=True, eq=False)
class Hole:
    """One connected part of a square that nothing covers.

    `outline` (k, 2), on the grid, m; `islands`: covered parts inside it, outlines likewise;
    `centroid_x_m`, `centroid_y_m` on the grid. `where`: around where the hole runs all round an
    island, else the third of the square, across and up, that holds the centroid; a hole whose
    centroid is in the middle third but which reaches an edge and not the opposite one is named
    by that edge.
    """

    outline: FloatArray
    islands: tuple[FloatArray, ...]
    area_m2: float
    centroid_x_m: float
    centroid_y_m: float
    where: Where


@dataclass(frozen=True, eq=False)
class SquareCoverage:
    """The covered fraction of a square, 0 to 1, and its holes, the largest first."""

    fraction: float
    holes: tuple[Hole, ...]


def coverage_of_square(
    frame: GridFrame, column: int, row: int, footprints: Sequence[npt.ArrayLike]
) -> SquareCoverage:
    """The coverage of one square by the union of footprints.

    fraction = area(square ∩ ∪ footprints) / s². Holes are the parts of the rest that are no
    slivers (`SLIVER_FRACTION`). `footprints`: outlines (k, 2), m. Raises ValueError for an
    outline that crosses itself or encloses nothing.
    """
    return coverage_of_squares(frame, [(column, row)], footprints)[Square(column, row)]


def coverage_of_squares(
    frame: GridFrame, squares: Iterable[tuple[int, int]], footprints: Sequence[npt.ArrayLike]
) -> dict[Square, SquareCoverage]:
    """The coverage of many squares at once, as `coverage_of_square` of each.

    The footprints near a square are found through a tree of their boxes, so that the work grows
    with squares and frames, not with their product.
    """
    wanted = [Square(*square) for square in squares]
    polygons = _polygons(footprints)
    boxes = _boxes(frame, wanted)
    of_square, of_footprint = shapely.STRtree(polygons).query(boxes, predicate="intersects")
    whole = np.zeros(len(wanted), dtype=bool)
    whole[of_square[shapely.covers(polygons[of_footprint], boxes[of_square])]] = True
    order = np.argsort(of_square, kind="stable")
    ends = np.searchsorted(of_square[order], np.arange(len(wanted) + 1))
    found = {}
    for index, square in enumerate(wanted):
        if whole[index]:
            found[square] = SquareCoverage(1.0, ())
            continue
        near = polygons[of_footprint[order[ends[index] : ends[index + 1]]]]
        found[square] = _coverage(boxes[index], near)
    return found


def holes_within(
    frame: GridFrame,
    squares: Iterable[tuple[int, int]],
    reach: Sequence[npt.ArrayLike],
    footprints: Sequence[npt.ArrayLike],
) -> dict[Square, tuple[Hole, ...]]:
    """What some footprints leave open of the part of each square that lies in others' reach.

    The parts of (square ∩ ∪ reach) − ∪ footprints that are no slivers, the largest first; squares
    that have none are left out. `reach` and `footprints`: outlines (k, 2), m. Raises ValueError
    for an outline that crosses itself or encloses nothing.
    """
    within, covered = shapely.union_all(_polygons(reach)), shapely.union_all(_polygons(footprints))
    wanted = [Square(*square) for square in squares]
    found = {}
    for square, box in zip(wanted, _boxes(frame, wanted), strict=True):
        left = shapely.intersection(box, within)
        parts = shapely.get_parts(shapely.difference(left, covered, grid_size=_SNAP_M))
        told = [part for part in parts if part.area > SLIVER_FRACTION * frame.side_m**2]
        if told:
            told.sort(key=lambda part: -part.area)
            found[square] = tuple(_hole(part, box) for part in told)
    return found


def lie_in(
    footprint: npt.ArrayLike, points: npt.ArrayLike, slack_m: float
) -> npt.NDArray[np.bool_]:
    """Which points a footprint covers, or lie at most so far beside its edge.

    `footprint`: (k, 2), `points`: (n, 2), m. Returns (n,). Raises ValueError for an outline that
    crosses itself or encloses nothing.
    """
    near = shapely.dwithin(
        _polygons([footprint])[0], shapely.points(as_points(points, (2,))), slack_m
    )
    return np.asarray(near)


def fractions_of_squares(frame: GridFrame, footprint: npt.ArrayLike) -> dict[Square, float]:
    """How much of each square one footprint covers: area(square ∩ footprint) / s², 0 to 1.

    Only squares of which it covers more than a sliver, sorted. `footprint`: (k, 2), m. Raises
    ValueError for an outline that crosses itself or encloses nothing.
    """
    polygon = _polygons([footprint])[0]
    squares = _squares_under(frame, as_points(footprint, (2,)))
    fractions = shapely.area(shapely.intersection(_boxes(frame, squares), polygon))
    fractions = np.minimum(fractions / frame.side_m**2, 1.0)
    return {
        square: float(fraction)
        for square, fraction in zip(squares, fractions, strict=True)
        if fraction > SLIVER_FRACTION
    }


def squares_touched(frame: GridFrame, footprint: npt.ArrayLike) -> list[Square]:
    """The squares of which a footprint covers more than a sliver, sorted; see above."""
    return list(fractions_of_squares(frame, footprint))


def overlap_fraction(footprint: npt.ArrayLike, other: npt.ArrayLike) -> float:
    """The share of a footprint that another one covers too: area(a ∩ b) / area(a), 0 to 1.

    For two frames of one size it is the overlap of photogrammetry. Outlines (k, 2), m. Raises
    ValueError for an outline that crosses itself or encloses nothing.
    """
    one, two = _polygons([footprint, other])
    return min(float(shapely.area(shapely.intersection(one, two)) / shapely.area(one)), 1.0)


def _coverage(box: Any, near: npt.NDArray[np.object_]) -> SquareCoverage:
    side = float(np.sqrt(shapely.area(box)))
    shared = shapely.get_parts(shapely.intersection(near, box))
    covered = shapely.union_all(shared[shapely.area(shared) > 0.0])  # edges that touch are lines
    rest = shapely.difference(box, covered, grid_size=_SNAP_M)
    parts = shapely.get_parts(rest)
    areas = shapely.area(parts)
    told = [part for part in parts[np.argsort(-areas)] if part.area > SLIVER_FRACTION * side**2]
    fraction = 1.0 - float(areas.sum()) / side**2
    return SquareCoverage(min(max(fraction, 0.0), 1.0), tuple(_hole(part, box) for part in told))


def _hole(part: Any, box: Any) -> Hole:
    return Hole(
        outline=shapely.get_coordinates(part.exterior)[:-1],
        islands=tuple(shapely.get_coordinates(ring)[:-1] for ring in part.interiors),
        area_m2=float(part.area),
        centroid_x_m=float(part.centroid.x),
        centroid_y_m=float(part.centroid.y),
        where=_where(part, box),
    )


def _where(part: Any, box: Any) -> Where:
    x_min, y_min, x_max, y_max = box.bounds
    side = x_max - x_min
    if len(part.interiors):
        return Where.AROUND
    across = int(np.clip(3 * (part.centroid.x - x_min) // side, 0, 2)) - 1
    up = int(np.clip(3 * (part.centroid.y - y_min) // side, 0, 2)) - 1
    if (across, up) == (0, 0):
        left, down, right, over = part.bounds
        within = 2 * _SNAP_M
        across = int(x_max - right < within) - int(left - x_min < within)
        up = int(y_max - over < within) - int(down - y_min < within)
    return _BY_STEP[across, up]


def _boxes(frame: GridFrame, squares: Sequence[Square]) -> npt.NDArray[np.object_]:
    near = np.array(squares, dtype=np.float64).reshape(-1, 2) * frame.side_m
    far = (np.array(squares, dtype=np.float64).reshape(-1, 2) + 1) * frame.side_m
    return np.asarray(shapely.box(near[:, 0], near[:, 1], far[:, 0], far[:, 1]), dtype=object)


def _squares_under(frame: GridFrame, outline: FloatArray) -> list[Square]:
    corners: IntArray = squares_at(frame, np.stack([outline.min(axis=0), outline.max(axis=0)]))
    (first_column, first_row), (last_column, last_row) = corners.tolist()
    return [
        Square(column, row)
        for column in range(first_column, last_column + 1)
        for row in range(first_row, last_row + 1)
    ]


def _polygons(footprints: Sequence[npt.ArrayLike]) -> npt.NDArray[np.object_]:
    polygons = np.empty(len(footprints), dtype=object)
    for index, footprint in enumerate(footprints):
        outline = as_points(footprint, (2,))
        if outline.ndim != 2 or len(outline) < 3:
            raise ValueError(f"An outline has three points or more, not {outline.tolist()!r}.")
        polygons[index] = shapely.Polygon(outline)
    unfit = ~shapely.is_valid(polygons) | (shapely.area(polygons) <= 0.0)
    if unfit.any():
        bad = shapely.get_coordinates(polygons[np.argmax(unfit)])[:-1].tolist()
        raise ValueError(f"An outline must enclose an area and not cross itself, not {bad!r}.")
    return polygons
