"""Lens distortion from marks in one picture, at several distances from its middle."""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from survey.errors import Unfit, gettext_noop
from survey.homography import inverted, project
from survey.lens import Lens, half_diagonal_px, undistort_points
from survey.marks import MarkedPlacement, place_by_marks
from survey.placement import Placement, to_plane
from survey.points import FloatArray, as_points

# With marks exact to a pixel, the corner of the picture must be known to this many pixels.
MOST_PX_AT_CORNER = 8.0

_STEPS = 50


@dataclass(frozen=True, eq=False)
class MarkedLens:
    """A lens and a placement found together from the marks of one picture.

    `residuals_px`: fitted − marked, (n, 2), in the picture as taken; `degrees_of_freedom` 2n − 9;
    `rms_px` = √(vᵀv/n); `variance_px2` = vᵀv/(2n − 9), of one coordinate. `sigma_k1`: standard
    deviation of k1 by that variance; `corner_sigma_px`: what it means at the picture's corner.
    """

    lens: Lens
    placement: Placement
    residuals_px: FloatArray
    residuals_m: FloatArray
    degrees_of_freedom: int
    rms_px: float
    variance_px2: float
    sigma_k1: float
    corner_sigma_px: float

    @property
    def caution(self) -> Unfit | None:
        """What a reader must know: that no distortion would do as well; else None."""
        if abs(self.lens.k1) >= 2.0 * self.sigma_k1:
            return None
        sentence = gettext_noop(
            "These marks show no distortion beyond their own inaccuracy: a picture free of "
            "distortion would fit them as well."
        )
        return Unfit("no-distortion-seen", sentence)


def lens_from_marks(
    picture: npt.ArrayLike, plane: npt.ArrayLike, width_px: int, height_px: int
) -> MarkedLens | Unfit:
    """k1 and the placement of a picture from marks on a plane, by least squares.

    Minimises Σ‖distorted(H⁻¹(plane)) − picture‖² over the homography's eight numbers and k1, the
    centre of distortion in the middle of the picture, normalised by half the diagonal (Gauss–
    Newton with damping; marks of equal precision). `picture`: (n, 2) of u, v as taken, px;
    `plane`: (n, 2) of x, y, m. Unfit: fewer than five marks (four corners fit any distortion);
    marks so nearly at one distance from the middle that they leave k1 open: exact to 1 px, the
    corner would still be uncertain by more than `MOST_PX_AT_CORNER`; no fit; and as
    `place_by_marks`. Raises ValueError for arrays that do not match or are not finite.
    """
    picture, plane = as_points(picture, (2,)), as_points(plane, (2,))
    start = place_by_marks(picture, plane, width_px, height_px)
    if isinstance(start, Unfit):
        return start
    if len(plane) < 5:
        return _too_few(len(plane))
    work = _Adjustment(picture, plane, (width_px - 1) / 2, (height_px - 1) / 2)
    work.norm_px = half_diagonal_px(width_px, height_px)
    found = work.solved(start)
    if found is None:
        return _no_fit()
    parameters, jacobian, misfit = found
    covariance = np.linalg.pinv(jacobian.T @ jacobian)
    # k1·r³ at r = 1, in px, for marks exact to one pixel.
    per_px = math.sqrt(max(covariance[8, 8], 0.0)) * work.norm_px
    strengths = np.linalg.svd(jacobian, compute_uv=False)
    if strengths[-1] < 1e-9 * strengths[0] or per_px > MOST_PX_AT_CORNER:
        return _at_one_radius()
    return _result(work, parameters, misfit, per_px, (width_px, height_px))


class _Adjustment:
    """The marks in normalised coordinates and the least squares of their residuals."""

    def __init__(self, picture: FloatArray, plane: FloatArray, u: float, v: float) -> None:
        self.centre, self.norm_px = np.array([u, v]), 1.0
        self.picture, self.plane = picture, plane
        self.middle = plane.mean(axis=0)
        self.spread = float(np.linalg.norm(plane - self.middle) / math.sqrt(len(plane)))

    @property
    def near(self) -> FloatArray:
        """The plane's points about their middle, in units of their spread."""
        return np.asarray((self.plane - self.middle) / self.spread)

    def solved(self, start: MarkedPlacement) -> tuple[FloatArray, FloatArray, FloatArray] | None:
        """Parameters (h₁ … h₈, k1), Jacobian (2n, 9) and misfit (2n,), both in px."""
        parameters = np.append(self._start(start), 0.0)
        misfit, jacobian = self.misfit(parameters), self.jacobian(parameters)
        damping = 1e-3
        for _ in range(_STEPS):
            normal = jacobian.T @ jacobian
            weighted = normal + damping * np.diag(normal.diagonal())
            step = np.linalg.lstsq(weighted, -jacobian.T @ misfit, rcond=None)[0]
            moved = parameters + step
            tried = self.misfit(moved)
            if np.isfinite(tried).all() and tried @ tried <= misfit @ misfit:
                parameters, misfit, jacobian = moved, tried, self.jacobian(moved)
                damping /= 10.0
            else:
                damping *= 10.0
            if np.abs(step).max() < 1e-12 or damping > 1e12:
                break
        return (parameters, jacobian, misfit) if np.isfinite(misfit).all() else None

    def _start(self, start: MarkedPlacement) -> FloatArray:
        to_px = inverted(start.placement.matrix)
        out = np.array(
            [
                [1 / self.norm_px, 0.0, -self.centre[0] / self.norm_px],
                [0.0, 1 / self.norm_px, -self.centre[1] / self.norm_px],
                [0.0, 0.0, 1.0],
            ]
        )
        h = out @ to_px @ self.from_near
        return np.asarray((h / h[2, 2]).ravel()[:8])

    @property
    def from_near(self) -> FloatArray:
        """The plane's normalised coordinates to metres, (3, 3)."""
        x, y = self.middle
        return np.array([[self.spread, 0.0, x], [0.0, self.spread, y], [0.0, 0.0, 1.0]])

    def misfit(self, parameters: FloatArray) -> FloatArray:
        q = project(np.append(parameters[:8], 1.0).reshape(3, 3), self.near)[0]
        taken = q * (1.0 + parameters[8] * (q**2).sum(axis=1))[:, None]
        wanted = (self.picture - self.centre) / self.norm_px
        return np.asarray(((taken - wanted) * self.norm_px).ravel())

    def jacobian(self, parameters: FloatArray) -> FloatArray:
        """d(taken)/d(h, k1) = [(1 + k1·r²)·I + 2·k1·q·qᵀ]·dq/dh and q·r², in px."""
        q, w = project(np.append(parameters[:8], 1.0).reshape(3, 3), self.near)
        k1, square = parameters[8], (q**2).sum(axis=1)
        rows = np.zeros((len(q), 2, 8))
        over = np.column_stack([self.near, np.ones(len(q))]) / w[:, None]
        rows[:, 0, 0:3] = rows[:, 1, 3:6] = over
        rows[:, :, 6:8] = -q[:, :, None] * over[:, None, :2]
        stretch = (1.0 + k1 * square)[:, None, None] * np.eye(2)
        stretch = stretch + 2.0 * k1 * q[:, :, None] * q[:, None, :]
        by_k1 = (q * square[:, None])[:, :, None]
        both = np.concatenate([stretch @ rows, by_k1], axis=2) * self.norm_px
        return np.asarray(both.reshape(-1, 9))


def _result(
    work: _Adjustment,
    parameters: FloatArray,
    misfit: FloatArray,
    per_px: float,
    size_px: tuple[int, int],
) -> MarkedLens | Unfit:
    h = np.append(parameters[:8], 1.0).reshape(3, 3)
    back = np.array(
        [
            [work.norm_px, 0.0, work.centre[0]],
            [0.0, work.norm_px, work.centre[1]],
            [0.0, 0.0, 1.0],
        ]
    )
    try:
        (width_px, height_px), (u, v) = size_px, work.centre.tolist()
        lens = Lens(width_px, height_px, u, v, work.norm_px, float(parameters[8]))
        placement = Placement(inverted(back @ h @ inverted(work.from_near)).ravel().tolist())
        residuals_m = to_plane(placement, undistort_points(lens, work.picture)) - work.plane
    except ValueError:
        return _no_fit()
    count, freedom = len(work.plane), 2 * len(work.plane) - 9
    variance = float(misfit @ misfit) / freedom
    corner_sigma_px = per_px * math.sqrt(variance)
    return MarkedLens(
        lens,
        placement,
        misfit.reshape(-1, 2),
        residuals_m,
        freedom,
        math.sqrt(float(misfit @ misfit) / count),
        variance,
        corner_sigma_px / work.norm_px,
        corner_sigma_px,
    )


def _too_few(count: int) -> Unfit:
    sentence = gettext_noop(
        "Four corners alone cannot tell the lens's distortion: they fit any. Mark points nearer to "
        "and farther from the middle of the picture; there are %(count)s marks."
    )
    return Unfit("too-few-for-lens", sentence, {"count": count})


def _at_one_radius() -> Unfit:
    sentence = gettext_noop(
        "All marks lie at about one distance from the middle of the picture, which leaves the "
        "lens's distortion open. Mark points nearer to and farther from the middle as well."
    )
    return Unfit("marks-at-one-radius", sentence)


def _no_fit() -> Unfit:
    sentence = gettext_noop(
        "No lens fits these marks: one of them is probably wrong. Look at each again."
    )
    return Unfit("no-lens-fits", sentence)
