"""How printed codes are looked for, and where their borders' edges meet to a fraction of a pixel.

Shared by all prints that carry codes. A code is `modules` × `modules` with its black border, one
module wide, on a white rim.
"""

import cv2
import numpy as np
import numpy.typing as npt

from survey.points import FloatArray

ByteArray = npt.NDArray[np.uint8]
FloatArray32 = npt.NDArray[np.float32]

# Below this many pixels a module, codes begin to be missed.
LEAST_MODULE_PX = 4.0

# How far the edge is looked for on either side, in modules: white ends at 1, so does black.
_REACH = 0.8
_STEPS = 33
_PLACES = 24


def demand_grey(grey: ByteArray) -> None:
    """Raises ValueError for what is no (h, w) array of uint8."""
    if grey.dtype != np.uint8 or grey.ndim != 2 or min(grey.shape) < 1:
        raise ValueError(
            f"A grey picture is an array (h, w) of uint8, not {grey.shape!r} of {grey.dtype}."
        )


def module_px(corners: FloatArray, modules: int) -> float:
    """The mean width of a module of a code with these corners (4, 2), px."""
    sides = np.linalg.norm(corners - np.roll(corners, -1, axis=0), axis=1)
    return float(sides.mean()) / modules


def detector_parameters(grey: ByteArray, modules: int) -> cv2.aruco.DetectorParameters:
    """How codes are looked for; windows and limits were set on frames of seeds 1000 to 1029."""
    parameters = cv2.aruco.DetectorParameters()
    # The threshold's window, px: from one module of the smallest codes to several.
    parameters.adaptiveThreshWinSizeMin = 5
    parameters.adaptiveThreshWinSizeMax = 45
    parameters.adaptiveThreshWinSizeStep = 20
    parameters.adaptiveThreshConstant = 4.0
    parameters.minOtsuStdDev = 3.0
    # A border seen obliquely is shorter than it is; this limit only keeps pebbles out.
    parameters.minMarkerPerimeterRate = 0.7 * 4 * modules * LEAST_MODULE_PX / max(grey.shape)
    # The white rim's outer edge is another square close by: both are to be looked at.
    parameters.minMarkerDistanceRate = 0.02
    parameters.minDistanceToBorder = 1
    parameters.perspectiveRemovePixelPerCell = 8
    parameters.errorCorrectionRate = 0.5
    parameters.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_SUBPIX
    return parameters


def sharpened(grey: ByteArray, corners: FloatArray, modules: int) -> FloatArray:
    """The corners (4, 2), px, where straight lines fitted to the border's four edges meet.

    Each edge is located where the brightness across it, between that of the rim and of the
    border, has its half area, which blur does not move. As they were where an edge is not clear.
    """
    size_px = module_px(corners, modules)
    room = 2.0 * size_px + 2.0
    left, top = (int(n) for n in np.maximum(np.floor(corners.min(axis=0) - room), 0.0))
    right, bottom = (int(n) for n in np.ceil(corners.max(axis=0) + room))
    part = grey[top:bottom, left:right].astype(np.float32)
    corner = np.array([left, top])
    return np.asarray(_where_edges_meet(part, corners - corner, modules, size_px) + corner)


def _where_edges_meet(
    grey: FloatArray32, corners: FloatArray, modules: int, size_px: float
) -> FloatArray:
    for _ in range(2):
        lines = [
            _edge(grey, start, end, modules, size_px)
            for start, end in zip(corners, np.roll(corners, -1, axis=0), strict=True)
        ]
        meeting = np.cross([lines[-1], *lines[:-1]], lines)
        if (np.abs(meeting[:, 2]) < 1e-6).any():
            return corners
        moved = meeting[:, :2] / meeting[:, 2:]
        if np.linalg.norm(moved - corners, axis=1).max() > size_px:
            return corners
        corners = moved
    return corners


def _edge(
    grey: FloatArray32, start: FloatArray, end: FloatArray, modules: int, size_px: float
) -> FloatArray:
    """The line (a, b, c), a·u + b·v + c = 0, of the edge between two corners."""
    along = (end - start) / np.linalg.norm(end - start)
    outward = np.array([along[1], -along[0]])
    reach = np.linspace(-_REACH, _REACH, _STEPS) * size_px
    # A side of the border is followed from the second to the last but one module.
    share = (np.arange(_PLACES) + 0.5) / _PLACES * (modules - 1.5) / modules + 0.75 / modules
    places = start + share[:, None] * (end - start)
    # Where a board fills the picture its border may have been found half a module too far in.
    rise = np.diff(_across(grey, places, reach, outward).mean(axis=0))
    places = places + outward * (reach[rise.argmax()] + reach[rise.argmax() + 1]) / 2.0
    profile = _across(grey, places, reach, outward)
    dark, bright = profile[:, :6].mean(axis=1), profile[:, -6:].mean(axis=1)
    clear = bright - dark > max(1.0, 0.5 * float(np.median(bright - dark)))
    if clear.sum() < 2:  # as it was found: the picture ends here
        return np.array([*outward, -outward @ start])
    area = (bright[:, None] - profile) / np.where(clear, bright - dark, 1.0)[:, None]
    offset = reach[0] + np.trapezoid(area, reach, axis=1)
    near = clear & (np.abs(offset - np.median(offset[clear])) < 0.25 * size_px)
    on = (places + offset[:, None] * outward)[near if near.sum() >= 4 else clear]
    middle = on.mean(axis=0)
    normal = np.linalg.svd(on - middle, full_matrices=False)[2][1]
    return np.array([normal[0], normal[1], -normal @ middle])


def _across(
    grey: FloatArray32, places: FloatArray, reach: FloatArray, outward: FloatArray
) -> FloatArray32:
    """The brightness across an edge, a row a place, inside first."""
    at = (places[:, None] + reach[:, None] * outward).astype(np.float32)
    return np.asarray(cv2.remap(grey, at[..., 0], at[..., 1], cv2.INTER_LINEAR))
