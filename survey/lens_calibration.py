"""A lens from several pictures of a printed board, taken where it is used: under water.

Behind a flat port the rays bend at the glass; a radial model takes most of that up (common
practice), for about the distances at which the board was held. What it does not take up stays in
the residuals, which are told of pictures that were withheld as well.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np

from survey.errors import Unfit, gettext_noop
from survey.lens import Lens, half_diagonal_px
from survey.points import FloatArray

FEWEST_VIEWS = 4
FEWEST_CORNERS = 12
# The board's directions must differ by this much, else focal length and distance go together.
LEAST_TURN_DEG = 12.0
# Corners must reach this part of the way from the middle of the picture to its corner.
LEAST_REACH = 0.6

# What is solved for: one focal length, the centre, k1, k2.
_UNKNOWNS = 5
_FLAGS = (
    cv2.CALIB_FIX_ASPECT_RATIO
    | cv2.CALIB_ZERO_TANGENT_DIST
    | cv2.CALIB_FIX_K3
    | cv2.CALIB_USE_INTRINSIC_GUESS
)


@dataclass(frozen=True, eq=False)
class View:
    """A picture of the board: `board_mm` (n, 2) of the corners seen, `picture` (n, 2) px."""

    board_mm: FloatArray
    picture: FloatArray


@dataclass(frozen=True, eq=False)
class Calibration:
    """A lens, normalised by its focal length, and how far it is to be trusted.

    `rms_px`: √(vᵀv/n) over all n corners; `view_rms_px`: of each picture, in the order given;
    `withheld_rms_px`: of pictures that had no part in the lens (each half predicted from the
    other; only the board's pose is fitted), which is what the next picture will show.
    `sigma_px`: √(vᵀv/(2n − 5 − 6·pictures)), of one coordinate. `focal_px` ± `focal_sigma_px`;
    `k1_sigma`. `reach`: how far out corners lie, as a part of half the diagonal: beyond it the
    lens is a guess.
    """

    lens: Lens
    focal_px: float
    focal_sigma_px: float
    k1_sigma: float
    rms_px: float
    view_rms_px: tuple[float, ...]
    withheld_rms_px: float
    sigma_px: float
    reach: float

    @property
    def caution(self) -> Unfit | None:
        """What a reader must know; None where the corners reach far out and withheld pictures
        fit about as well as the others."""
        if self.reach < 0.85:
            sentence = gettext_noop(
                "The board was never seen in the corners of the picture: there the lens is a "
                "guess. Take two more pictures with the board in opposite corners."
            )
            return Unfit("corners-not-seen", sentence)
        if self.withheld_rms_px > 1.5 * self.rms_px:
            sentence = gettext_noop(
                "Pictures that had no part in the calibration fit clearly worse (%(withheld)s px "
                "instead of %(rms)s px): take more pictures, the board turned more ways."
            )
            values = {"withheld": f"{self.withheld_rms_px:.2f}", "rms": f"{self.rms_px:.2f}"}
            return Unfit("withheld-fit-worse", sentence, values)
        return None


def calibrate(views: Sequence[View], width_px: int, height_px: int) -> Calibration | Unfit:
    """The lens from pictures of a flat board, by OpenCV's bundle adjustment.

    Solves for one focal length, the centre of distortion, k1, k2 and each picture's pose, by least
    squares of Σ‖v‖² in the picture; method of Z. Zhang, "A flexible new technique for camera
    calibration", *IEEE Transactions on Pattern Analysis and Machine Intelligence* 22 (2000), from
    memory. Pictures with fewer than `FEWEST_CORNERS` corners do not count. Unfit: fewer than
    `FEWEST_VIEWS` pictures; corners only near the middle; the board never turned; no solution.
    Raises ValueError for arrays that do not match or are not finite.
    """
    for view in views:
        shapes = view.board_mm.shape, view.picture.shape
        if shapes[0] != shapes[1] or view.picture.ndim != 2 or view.picture.shape[1:] != (2,):
            raise ValueError(f"Corners come in pairs, not {shapes[0]!r} and {shapes[1]!r}.")
        if not (np.isfinite(view.board_mm).all() and np.isfinite(view.picture).all()):
            raise ValueError("Corners must be finite numbers.")
    used = [view for view in views if len(view.picture) >= FEWEST_CORNERS]
    problem = _views_problem(used, width_px, height_px)
    if problem is not None:
        return problem
    try:
        whole = _Solution(used, width_px, height_px)
        if whole.turned_deg < LEAST_TURN_DEG or whole.sigma_focal > 0.03 * whole.camera[0, 0]:
            return _never_turned()
        withheld = [
            rms**2 * len(view.picture)
            for of, others in ((used[::2], used[1::2]), (used[1::2], used[::2]))
            for view in others
            for rms in [_Solution(of, width_px, height_px).rms_of(view)]
        ]
        return whole.told(math.sqrt(sum(withheld) / sum(len(view.picture) for view in used)))
    except (cv2.error, ValueError, np.linalg.LinAlgError):
        return _no_solution()


class _Solution:
    """What OpenCV makes of some views."""

    def __init__(self, views: Sequence[View], width_px: int, height_px: int) -> None:
        self.views, self.size = views, (width_px, height_px)
        guess = np.array(
            [
                [1.2 * width_px, 0.0, (width_px - 1) / 2],
                [0.0, 1.2 * width_px, (height_px - 1) / 2],
                [0.0, 0.0, 1.0],
            ]
        )
        solved = cv2.calibrateCameraExtended(
            [_in_space(view) for view in views],
            [view.picture.astype(np.float32) for view in views],
            self.size,
            guess,
            np.zeros(5),
            flags=_FLAGS,
            criteria=(cv2.TERM_CRITERIA_COUNT | cv2.TERM_CRITERIA_EPS, 200, 1e-12),
        )
        self.camera, self.coefficients, self.turns = solved[1], solved[2].ravel(), solved[3]
        deviations = solved[5].ravel()
        # With one focal length OpenCV solves for that along v; the other's deviation is 0.
        self.sigma_focal, self.sigma_k1 = float(deviations[:2].max()), float(deviations[4])
        self.view_rms = np.ravel(solved[7])

    @property
    def turned_deg(self) -> float:
        """The greatest angle between two directions of the board, degrees."""
        normals = np.array([cv2.Rodrigues(turn)[0][:, 2] for turn in self.turns])
        return math.degrees(math.acos(float(np.clip((normals @ normals.T).min(), -1.0, 1.0))))

    def rms_of(self, view: View) -> float:
        """Of a picture that had no part, its pose fitted with this lens, px."""
        space = _in_space(view)
        _, turn, shift = cv2.solvePnP(space, view.picture, self.camera, self.coefficients)
        seen = cv2.projectPoints(space, turn, shift, self.camera, self.coefficients)[0]
        off = seen.reshape(-1, 2) - view.picture
        return math.sqrt(float((off**2).sum()) / len(off))

    def told(self, withheld_rms_px: float) -> Calibration:
        counts = np.array([len(view.picture) for view in self.views])
        square_sum = float((self.view_rms**2 * counts).sum())
        freedom = 2 * int(counts.sum()) - _UNKNOWNS - 6 * len(counts)
        focal, (u, v) = float(self.camera[0, 0]), self.camera[:2, 2].tolist()
        k1, k2 = self.coefficients[:2].tolist()
        return Calibration(
            Lens(*self.size, u, v, focal, k1, k2),
            focal,
            self.sigma_focal,
            self.sigma_k1,
            math.sqrt(square_sum / counts.sum()),
            tuple(self.view_rms.tolist()),
            withheld_rms_px,
            math.sqrt(square_sum / freedom),
            _reach(self.views, *self.size),
        )


def _in_space(view: View) -> FloatArray:
    board = np.column_stack([view.board_mm, np.zeros(len(view.board_mm))])
    return np.asarray(board.astype(np.float32))


def _reach(views: Sequence[View], width_px: int, height_px: int) -> float:
    """How far out the corners lie: the 98th hundredth of their radii over half the diagonal."""
    middle = np.array([(width_px - 1) / 2, (height_px - 1) / 2])
    radii = np.concatenate([np.linalg.norm(view.picture - middle, axis=1) for view in views])
    return float(np.quantile(radii, 0.98)) / half_diagonal_px(width_px, height_px)


def _views_problem(views: Sequence[View], width_px: int, height_px: int) -> Unfit | None:
    if len(views) < FEWEST_VIEWS:
        sentence = gettext_noop(
            "A lens needs %(fewest)s pictures in which the board is well seen, better ten; there "
            "are %(count)s."
        )
        return Unfit("too-few-views", sentence, {"fewest": FEWEST_VIEWS, "count": len(views)})
    if _reach(views, width_px, height_px) < LEAST_REACH:
        sentence = gettext_noop(
            "The board lies in the middle of all pictures, where a lens hardly distorts. Take "
            "pictures with the board in the corners and along the edges."
        )
        return Unfit("board-in-the-middle", sentence)
    return None


def _never_turned() -> Unfit:
    sentence = gettext_noop(
        "The board faces the camera the same way in all pictures, which leaves the focal length "
        "open. Tilt it by about 30° to each side in some of them."
    )
    return Unfit("board-never-turned", sentence)


def _no_solution() -> Unfit:
    sentence = gettext_noop(
        "No lens fits these pictures. Were they all taken with one lens, one focus and one port, "
        "and was the board flat?"
    )
    return Unfit("no-calibration", sentence)
