"""A placement from marks: points clicked in a picture whose place on the plane is known."""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from survey.errors import Unfit, gettext_noop
from survey.grid import GridFrame, corners
from survey.homography import homography_by_dlt, inverted, project, refine_homography
from survey.lens import Lens, undistort_points
from survey.outline import picture_outline
from survey.placement import Placement, to_picture, to_plane
from survey.points import FloatArray, as_points

# A click is no finer than a pixel, a grid line no finer than a millimetre: marks closer than
# this are one mark twice.
SAME_MARK_PX = 1.0
SAME_MARK_M = 0.001

# Thickness of a set of marks over its length, below which it counts as a line: a click wrong by
# one pixel would move the picture by about a hundred at the far side.
LINE_THICKNESS = 0.01

# Smallest over greatest w on the picture's edge. Beyond 1 to 50 the far edge is drawn fifty
# times smaller than the near one: the horizon is in the picture or as good as in it.
HORIZON_RATIO = 1.0 / 50.0


@dataclass(frozen=True, eq=False)
class MarkedPlacement:
    """A placement and how well its marks agree with it.

    Residuals are fitted − given, a row a mark in the order given: `residuals_px` of the marks'
    picture points, which were measured and are what is made small; `residuals_m` of their
    points on the plane. With v the residuals in px and n marks: `rms_px` = √(vᵀv/n), `rms_m`
    likewise; `variance_px2` = vᵀv/(2n − 8), of one coordinate. Four marks always fit: then these
    three are None, and `caution` says so.
    """

    placement: Placement
    residuals_px: FloatArray
    residuals_m: FloatArray
    degrees_of_freedom: int
    rms_px: float | None
    rms_m: float | None
    variance_px2: float | None

    @property
    def caution(self) -> Unfit | None:
        """What a reader must know about these numbers; None where they speak for themselves."""
        if self.degrees_of_freedom > 0:
            return None
        sentence = gettext_noop(
            "Four marks always fit exactly, so there is no residual: a wrong mark would not show. "
            "A fifth mark would check the other four."
        )
        return Unfit("no-residual", sentence)


def place_by_marks(
    picture: npt.ArrayLike,
    plane: npt.ArrayLike,
    width_px: int,
    height_px: int,
    lens: Lens | None = None,
) -> MarkedPlacement | Unfit:
    """The placement of a picture from four or more marks.

    Normalised DLT; for more than four marks then the least Σ‖v‖² of the picture residuals
    (`refine_homography`), best where clicks of equal precision carry the error. `picture`:
    (n, 2) of u, v, px; `plane`: (n, 2) of x, y, m; the picture's size in px; `lens`: whose
    distortion is taken off the marks first (residuals are told in the picture as taken). Unfit:
    fewer than four marks, a mark twice, all but one on a line, marks in the wrong order or round
    the wrong way, a horizon that crosses the picture, a mark where the lens has no picture.
    Raises ValueError for arrays that do not match or are not finite, or a lens of another size.
    """
    picture, plane = as_points(picture, (2,)), as_points(plane, (2,))
    if picture.ndim != 2 or picture.shape != plane.shape:
        raise ValueError(f"Marks come in pairs, not {picture.shape!r} and {plane.shape!r}.")
    problem = _marks_problem(picture, plane)
    if problem is not None:
        return problem
    outline = picture_outline(width_px, height_px)
    if lens is None:
        return _placed(picture, picture, plane, outline, None)
    if (lens.width_px, lens.height_px) != (width_px, height_px):
        raise ValueError(f"A lens for {width_px!r} × {height_px!r} px, not {lens!r}.")
    try:
        straight = undistort_points(lens, picture)
    except ValueError:
        return _beyond_the_lens()
    return _placed(picture, straight, plane, undistort_points(lens, outline), lens)


def _placed(
    picture: FloatArray,
    straight: FloatArray,
    plane: FloatArray,
    outline: FloatArray,
    lens: Lens | None,
) -> MarkedPlacement | Unfit:
    """From marks as taken and free of distortion, and the picture's corners free of it."""
    to_px = homography_by_dlt(plane, straight)
    problem = _order_problem(to_px, plane)
    if problem is not None:
        return problem
    if len(plane) > 4:
        to_px = refine_homography(to_px, plane, straight)
    problem = _order_problem(to_px, plane) or _horizon_problem(to_px, outline)
    if problem is not None:
        return problem
    placement = Placement(inverted(to_px).ravel().tolist(), lens)
    residuals_px = project(to_px, plane)[0] - picture
    if lens is not None:
        try:
            residuals_px = to_picture(placement, plane) - picture
        except ValueError:
            return _beyond_the_lens()
    return _with_residuals(placement, residuals_px, picture, plane)


def place_by_square_corners(
    frame: GridFrame,
    column: int,
    row: int,
    picture: npt.ArrayLike,
    width_px: int,
    height_px: int,
) -> MarkedPlacement | Unfit:
    """The placement of a picture on the grid from the four clicked corners of a square.

    `picture`: (4, 2) of u, v, px, in the order of `survey.grid.corners`: from the corner nearest
    −x −y, counter-clockwise on the grid. Leaves no residual. Unfit and errors as in
    `place_by_marks`.
    """
    return place_by_marks(picture, corners(frame, column, row), width_px, height_px)


def _with_residuals(
    placement: Placement, residuals_px: FloatArray, picture: FloatArray, plane: FloatArray
) -> MarkedPlacement:
    residuals_m = to_plane(placement, picture) - plane
    count = len(plane)
    freedom = 2 * count - 8
    if freedom == 0:
        return MarkedPlacement(placement, residuals_px, residuals_m, 0, None, None, None)
    square_sum_px, square_sum_m = float((residuals_px**2).sum()), float((residuals_m**2).sum())
    return MarkedPlacement(
        placement,
        residuals_px,
        residuals_m,
        freedom,
        rms_px=math.sqrt(square_sum_px / count),
        rms_m=math.sqrt(square_sum_m / count),
        variance_px2=square_sum_px / freedom,
    )


def _marks_problem(picture: FloatArray, plane: FloatArray) -> Unfit | None:
    count = len(plane)
    if count < 4:
        sentence = gettext_noop("A placement needs four marks or more; there are %(count)s.")
        return Unfit("too-few-marks", sentence, {"count": count})
    pair = _closest_pair(picture, SAME_MARK_PX) or _closest_pair(plane, SAME_MARK_M)
    if pair is not None:
        sentence = gettext_noop(
            "Marks %(one)s and %(other)s are the same point. Mark each corner or crossing once."
        )
        return Unfit("same-mark", sentence, {"one": pair[0] + 1, "other": pair[1] + 1})
    if _nearly_on_a_line(picture) or _nearly_on_a_line(plane):
        sentence = gettext_noop(
            "All marks but one lie on a line, which leaves the picture free to turn about it. "
            "Mark points that spread in both directions."
        )
        return Unfit("marks-on-a-line", sentence)
    return None


def _closest_pair(points: FloatArray, nearer_than: float) -> tuple[int, int] | None:
    distance = np.linalg.norm(points[:, None] - points[None], axis=2)
    first, second = np.nonzero(np.triu(distance < nearer_than, k=1))
    return (int(first[0]), int(second[0])) if len(first) else None


def _nearly_on_a_line(points: FloatArray) -> bool:
    """Whether leaving out one point leaves a line: just then no four are in general position."""
    for left_out in range(len(points)):
        rest = np.delete(points, left_out, axis=0)
        length, thickness = np.linalg.svd(rest - rest.mean(axis=0), compute_uv=False)
        if thickness < LINE_THICKNESS * length:
            return True
    return False


def _order_problem(to_px: FloatArray, plane: FloatArray) -> Unfit | None:
    """The marks seen from in front, all on one side of the horizon: w > 0, and det < 0.

    v runs down and y up, so a picture seen from +w turns the plane's sense of rotation over.
    """
    if (project(to_px, plane)[1] <= 0.0).any():
        sentence = gettext_noop(
            "The marks cross over: two of them are probably exchanged. Mark them again in order "
            "round the square."
        )
        return Unfit("marks-crossed", sentence)
    if np.linalg.det(to_px) > 0.0:
        sentence = gettext_noop(
            "The picture would be a mirror image: the marks go round the wrong way, or the sheet "
            "was scanned from its back."
        )
        return Unfit("marks-mirrored", sentence)
    return None


def _horizon_problem(to_px: FloatArray, outline: FloatArray) -> Unfit | None:
    w = project(inverted(to_px), outline)[1]
    if w.min() < HORIZON_RATIO * w.max():
        sentence = gettext_noop(
            "By these marks the picture looks past the edge of the plane, toward its horizon. A "
            "mark is probably wrong, or the picture was taken at too flat an angle."
        )
        return Unfit("horizon-in-picture", sentence)
    return None


def _beyond_the_lens() -> Unfit:
    sentence = gettext_noop(
        "A mark lies where the lens of this set-up draws no picture: it was marked in the wrong "
        "place, or the lens is another one."
    )
    return Unfit("beyond-the-lens", sentence)
