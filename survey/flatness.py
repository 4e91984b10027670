"""Whether a print was flat when its picture was taken, by its own printed lines.

A print is registered from the four codes in its corners. Paper that bulges, curls or is folded
between them leaves the codes where they were; only what is printed between them tells.
"""

from dataclasses import dataclass

import numpy as np

from survey.code_edges import ByteArray, demand_grey
from survey.errors import Unfit, gettext_noop
from survey.homography import inverted
from survey.points import FloatArray
from survey.print_layout import PrintLayout
from survey.print_lines import (
    BoolArray,
    LinesSeen,
    lines_seen,
    median_of_known,
    running_median,
)

_ALONG_MM = 14.0  # on either side of a crossing: so much of each line has part in its place
_LEAST_PLACES = 4
_ASTRAY_MM = 0.4  # from the running median of its line: such a place saw something else
_AGREE_MM = 0.2  # the places of a crossing, root mean square about their straight line
_LEAST_AROUND = 3  # of a crossing and its neighbours
_SMOOTH_MM = 0.3  # and as much as their median: so far may one be from it
_LEAST_CROSSINGS = 9
_LEAST_FRACTION = 0.33
_LARGEST = 0.95


@dataclass(frozen=True)
class Flatness:
    """How far crossings of printed lines lie from where the corner codes put them, mm of paper.

    `answered` of `crossings` could be seen. `largest_mm`: 95 % of them are off by less, so that a
    few seen wrong raise no alarm; `worst_mm`: x, y on the paper of the one nearest to that.
    """

    crossings: int
    answered: int
    median_mm: float
    largest_mm: float
    worst_mm: tuple[float, float]


def flatness(grey: ByteArray, to_mm: FloatArray, layout: PrintLayout) -> Flatness | Unfit:
    """How far the printed lines lie from their places, as the registration has it.

    At each crossing the upright line says the departure along x and the level one along y: of a
    line's places within 14 mm the straight line with the least squares, weighted by the tricube
    (1 − |t/14 mm|³)³, once those more than 0.4 mm from their running median are left out. The
    departure is the length of the two together. Unfit: too few crossings answer. Source of the
    weighted straight line: W. S. Cleveland, J. Am. Stat. Assoc. 74 (1979) 829; the rest is our
    own. Against a cylinder's true shape it tells within 5 % and 0.1 mm up to 5 mm; where lines
    lie too far off to be found it may tell less than there is. `grey`: (h, w) uint8; `to_mm`:
    (3, 3), picture px → mm of paper. Raises ValueError for another array.
    """
    demand_grey(grey)
    upright, level = lines_seen(grey, inverted(to_mm), layout)
    (off_x, seen_x), (off_y, seen_y) = _at(upright, level.at_mm), _at(level, upright.at_mm)
    seen = seen_x | seen_y.T  # (upright lines, level lines)
    length = np.where(seen, np.hypot(np.nan_to_num(off_x), np.nan_to_num(off_y.T)), np.nan)
    answered, crossings = int(seen.sum()), seen.size
    if answered < max(_LEAST_CROSSINGS, _LEAST_FRACTION * crossings):
        sentence = gettext_noop(
            "Whether the paper was flat cannot be said: of %(crossings)s crossings of "
            "its printed lines %(answered)s are seen. Look whether they are straight."
        )
        return Unfit("lines-unseen", sentence, {"crossings": crossings, "answered": answered})
    largest = float(np.quantile(length[seen], _LARGEST))
    worst = np.nanargmin(np.abs(length - largest))
    x, y = np.unravel_index(worst, length.shape)
    return Flatness(
        crossings,
        answered,
        float(np.median(length[seen])),
        largest,
        (float(upright.at_mm[x]), float(level.at_mm[y])),
    )


def _at(lines: LinesSeen, places_mm: FloatArray) -> tuple[FloatArray, BoolArray]:
    """How far each line is off at these places along it, and where it answered itself: both
    (lines, places). NaN where its neighbours do not answer either."""
    off = lines.off_mm
    near = np.abs(off - running_median(off)) < _ASTRAY_MM  # False for NaN
    t = lines.along_mm - places_mm[:, None]
    w = np.maximum(1.0 - np.abs(t / _ALONG_MM) ** 3, 0.0) ** 3  # (places, along)
    known, v = near.astype(np.float64), np.where(near, off, 0.0)
    s, st, stt = (known @ (w * t**n).T for n in range(3))
    sv, stv, svv = v @ w.T, v @ (w * t).T, v**2 @ w.T
    with np.errstate(divide="ignore", invalid="ignore"):
        slope = (s * stv - st * sv) / (s * stt - st * st)
        there = (sv - slope * st) / s
        left = np.sqrt(np.maximum(svv - there * sv - slope * stv, 0.0) / s)
    is_seen = (known @ (w > 0.0).T >= _LEAST_PLACES) & (left < _AGREE_MM)
    return _with_neighbours(np.where(is_seen, there, np.nan))


def _with_neighbours(off: FloatArray) -> tuple[FloatArray, BoolArray]:
    """Paper bends smoothly: what is far from the median of itself and the eight around it saw
    something else, and the median stands for it and for what saw nothing."""
    around = np.lib.stride_tricks.sliding_window_view(
        np.pad(off, 1, constant_values=np.nan), (3, 3)
    ).reshape(*off.shape, 9)
    median = median_of_known(around, _LEAST_AROUND)
    is_borne = np.abs(off - median) < _SMOOTH_MM + np.abs(median)
    return np.where(is_borne, off, median), is_borne
