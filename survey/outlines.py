"""Traced features: areas, lines and points on a grid, measured, and the squares they run across.

Coordinates are grid x, y in m. An area is its outer edge, (n, 2), the last point joined to the
first, which is not repeated; it has no holes.
"""

from dataclasses import dataclass
from enum import StrEnum
from typing import Any

import numpy as np
import numpy.typing as npt
import shapely

from survey.errors import Unfit, UnfitError, demand_positive, gettext_noop
from survey.grid import GridFrame, Square, square_at, squares_at, squares_in_block
from survey.points import FloatArray, as_points

MOST_POINTS = 2_000
"""More of one feature is no tracing by hand."""

# Points nearer than this are one tap done twice: no hand sets marks a tenth of a millimetre apart.
SAME_WITHIN_M = 1e-4

# What runs into a square by less than this share of its side only touches it.
TOUCH_FRACTION = 1e-6


class Shape(StrEnum):
    AREA = "area"
    LINE = "line"
    POINT = "point"


_FEWEST = {Shape.AREA: 3, Shape.LINE: 2, Shape.POINT: 1}


@dataclass(frozen=True, eq=False)
class Trace:
    """A traced feature: its shape and its points (n, 2) on the grid, m.

    Points repeated one after another are taken once. Raises UnfitError where `why_unfit` has a
    reason, ValueError for points that are no numbers.
    """

    shape: Shape
    points: FloatArray

    def __init__(self, shape: Shape | str, points: npt.ArrayLike) -> None:
        kind = Shape(shape)
        given = _once_each(kind, _many(points))
        problem = _problem(kind, given)
        if problem is not None:
            raise UnfitError(problem)
        object.__setattr__(self, "shape", kind)
        object.__setattr__(self, "points", given)

    @property
    def area_m2(self) -> float:
        """What an area encloses, m²; 0 of a line or point. ½ |Σ x_i y_{i+1} − x_{i+1} y_i|."""
        return float(self.geometry.area)

    @property
    def length_m(self) -> float:
        """Along a line; all round an area; 0 of a point; m. Σ |p_{i+1} − p_i|."""
        return float(self.geometry.length)

    @property
    def box_m(self) -> tuple[float, float, float, float]:
        """x_min, y_min, x_max, y_max, m."""
        (x_min, y_min), (x_max, y_max) = self.points.min(axis=0), self.points.max(axis=0)
        return float(x_min), float(y_min), float(x_max), float(y_max)

    @property
    def place_of_name(self) -> tuple[float, float]:
        """Where a letter may stand for it: within an area, halfway along a line; m."""
        if self.shape is Shape.LINE:
            point = self.geometry.interpolate(0.5, normalized=True)
        else:
            point = self.geometry.representative_point()
        return float(point.x), float(point.y)

    @property
    def geometry(self) -> Any:
        """As a Shapely geometry."""
        return _geometry(self.shape, self.points)


def why_unfit(shape: Shape | str, points: npt.ArrayLike) -> Unfit | None:
    """Why these points make no such feature, in words; None where they do.

    `points`: (n, 2), m. Raises ValueError for another shape of array and values not finite.
    """
    kind = Shape(shape)
    return _problem(kind, _once_each(kind, _many(points)))


def simplified(trace: Trace, tolerance_m: float) -> Trace:
    """The same feature with fewer points, none farther than the tolerance from the traced line.

    Douglas and Peucker's method (Cartographica 10, 1973, pp. 112–122), which never lets an area
    cross itself here. Raises ValueError for a tolerance that is not more than 0.
    """
    demand_positive("tolerance", tolerance_m)
    if trace.shape is Shape.POINT:
        return trace
    rest = shapely.simplify(trace.geometry, tolerance_m, preserve_topology=True)
    return Trace(trace.shape, _coordinates(trace.shape, rest))


def squares_under(frame: GridFrame, trace: Trace) -> list[Square]:
    """The squares that the feature runs across, sorted by column and row.

    An area shares area with them, a line length (one that follows an edge: with both sides), a
    point lies in one by the rule of `square_at`. Touching from outside does not count.
    """
    if trace.shape is Shape.POINT:
        return [square_at(frame, *trace.points[0].tolist())]
    x_min, y_min, x_max, y_max = trace.box_m
    first, last = squares_at(frame, [[x_min, y_min], [x_max, y_max]]).tolist()
    near = squares_in_block((first[0] - 1, first[1] - 1), (last[0], last[1]))
    low = np.array(near, dtype=np.float64) * frame.side_m
    high = low + frame.side_m
    boxes = shapely.box(low[:, 0], low[:, 1], high[:, 0], high[:, 1])
    shared = shapely.intersection(boxes, trace.geometry)
    is_area = trace.shape is Shape.AREA
    amount = shapely.area(shared) if is_area else shapely.length(shared)
    least = TOUCH_FRACTION * (frame.side_m**2 if is_area else frame.side_m)
    return [square for square, much in zip(near, amount.tolist(), strict=True) if much > least]


def _many(points: npt.ArrayLike) -> FloatArray:
    """(n, 2), of no points too."""
    if np.size(points) == 0:
        return np.empty((0, 2))
    return as_points(points, (2,)).reshape(-1, 2)


def _geometry(shape: Shape, points: FloatArray) -> Any:
    if shape is Shape.AREA:
        return shapely.Polygon(points)
    return shapely.LineString(points) if shape is Shape.LINE else shapely.Point(points[0])


def _coordinates(shape: Shape, geometry: Any) -> FloatArray:
    points: FloatArray = shapely.get_coordinates(geometry)
    return points[:-1] if shape is Shape.AREA else points


def _once_each(shape: Shape, points: FloatArray) -> FloatArray:
    """Without repetitions, nor an area's first point once more at its end."""
    if shape is Shape.POINT or len(points) < 2:
        return points
    steps = np.hypot(*np.diff(points, axis=0).T)
    kept = points[np.concatenate([[True], steps > SAME_WITHIN_M])]
    if shape is Shape.AREA and len(kept) > 1 and np.hypot(*(kept[0] - kept[-1])) <= SAME_WITHIN_M:
        kept = kept[:-1]
    return np.asarray(kept)


def _problem(shape: Shape, points: FloatArray) -> Unfit | None:
    if len(points) > MOST_POINTS:
        sentence = gettext_noop("A feature has at most %(most)s points, not %(n)s.")
        return Unfit("too-many", sentence, {"most": MOST_POINTS, "n": len(points)})
    if len(points) < _FEWEST[shape]:
        return Unfit("too-few", _TOO_FEW[shape], {"n": len(points)})
    if shape is Shape.POINT and len(points) > 1:
        sentence = gettext_noop("A point is one point, not %(n)s. Is it a line?")
        return Unfit("too-many", sentence, {"n": len(points)})
    if shape is Shape.AREA:
        return _area_problem(_geometry(shape, points))
    return None


def _area_problem(polygon: Any) -> Unfit | None:
    if not polygon.is_valid:
        sentence = gettext_noop(
            "The edge crosses itself. Move or take away a point, or trace it as a line."
        )
        return Unfit("crosses-itself", sentence)
    if polygon.area <= SAME_WITHIN_M**2:
        return Unfit("no-area", gettext_noop("The points enclose no area. Trace it as a line."))
    return None


_TOO_FEW = {
    Shape.AREA: gettext_noop("An area has three points or more; %(n)s so far."),
    Shape.LINE: gettext_noop("A line has two points or more; %(n)s so far."),
    Shape.POINT: gettext_noop("Tap where the point lies."),
}
