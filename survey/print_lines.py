"""Where a print's own lines lie in its picture: its frames and the thin lines between them.

The picture is straightened by the registration, so that each line should lie at its known place
on the paper; where it does lie is looked for across it, at places a few mm apart along it. All
here is mm of paper; `survey.print_layout` has its axes.
"""

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from survey.code_edges import ByteArray
from survey.points import FloatArray
from survey.print_layout import PrintLayout

FloatArray32 = npt.NDArray[np.float32]
BoolArray = npt.NDArray[np.bool_]

PX_A_MM = 6  # of the straightened picture: a thin line is 0.18 mm wide
PLACE_MM = 3.0  # along a line: over so much of it the brightness is averaged
_FRAME_REACH_MM = 6.0  # so far from its place a frame's line is looked for
_LINE_REACH_MM = 4.0  # so far from where its neighbour lies, a thin one
_NEAR_MM = 1.2  # so far from what was found first, the second time
_BETWEEN = 0.45  # of the way to the next line: never as far as that one
# A line's cross-section: a smooth dip, less dark on both sides.
_DIP_MM, _AROUND_MM, _PAPER_MM = 0.3, 0.8, 3.0
# On either side of a line the paper is about as bright; at the edge of a shadow it is not.
_SIDE_MM, _LEAN = 1.2, 2.0
_APART_MM = 0.7  # two dips nearer than this are one
_RIVAL = 0.6  # of the deepest dip: another one as deep leaves open which is the line
# As printed: a thin line's dip beside a frame's, 0.18 mm of 41 % black beside 0.5 mm of black.
_THIN = 0.18 * (255 - 150) / 255 / 0.5
_PERHAPS = (0.3, 3.0)  # of that; printers differ
_AS_DEEP = (0.5, 1.8)  # of lines of its kind in this picture: a pencil on it makes it deeper
_RUN = 7  # places in a running median
_LEAST_RUN = 3

FRAME, THIN = 0, 1


@dataclass(frozen=True, eq=False)
class LinesSeen:
    """The lines of one direction, and how far each lies from its place.

    `at_mm` (n,): their places, ascending; `along_mm` (m,): places along them; `off_mm` (n, m):
    how far beyond its place a line lies, NaN where that could not be seen.
    """

    at_mm: FloatArray
    along_mm: FloatArray
    off_mm: FloatArray


def lines_seen(
    grey: ByteArray, to_px: FloatArray, layout: PrintLayout
) -> tuple[LinesSeen, LinesSeen]:
    """The upright lines with their departures along x, and the level ones with theirs along y.

    At each place the brightness across the line, averaged over 3 mm along it and divided by that
    of the paper, is compared with its surroundings: r = (G(0.8 mm) − G(0.3 mm)) ∗ b, G Gaussians.
    The line's centre is where r is greatest, by a parabola through three samples; an even light
    gradient and symmetric blur do not move it. Frames are looked for round their places, then
    each thin line round where its neighbour was found, less than half-way to the next. A place
    gives no answer where the dip is lost in noise, is not as deep as lines of its kind are, or
    has another like it beside it. Own method.

    `grey`: (h, w) uint8; `to_px`: (3, 3), mm of paper → picture px.
    """
    area = layout.area
    reach = _FRAME_REACH_MM + _SIDE_MM + 0.5
    start = np.array([area.x_mm - reach, area.y_mm - reach])
    size = np.array([area.width_mm, area.height_mm]) + 2 * reach
    straight = _straightened(grey, to_px, start, size)
    across, level = layout.lines_mm()
    side = layout.side_m * layout.mm_a_metre
    frames = [
        [area.x_mm + side * n for n in range(layout.columns + 1)],
        [area.y_mm + side * n for n in range(layout.rows + 1)],
    ]
    inside = [slice(round(reach * PX_A_MM), n - round(reach * PX_A_MM)) for n in straight.shape]
    upright = _Search(straight[inside[0]], start[0], start[1] + reach, frames[0], across)
    turned = np.ascontiguousarray(straight[:, inside[1]].T)
    lying = _Search(turned, start[1], start[0] + reach, frames[1], level)
    return upright.seen(), lying.seen()


def _straightened(
    grey: ByteArray, to_px: FloatArray, start: FloatArray, size: FloatArray
) -> FloatArray32:
    mm = 1.0 / PX_A_MM
    raster = np.array([[mm, 0.0, start[0] + mm / 2], [0.0, mm, start[1] + mm / 2], [0.0, 0.0, 1.0]])
    width, height = (int(n) for n in np.ceil(np.round(size * PX_A_MM, 6)))
    flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    straight = cv2.warpPerspective(
        grey, to_px @ raster, (width, height), flags=flags, borderMode=cv2.BORDER_REPLICATE
    )
    return np.asarray(straight, dtype=np.float32)


class _Search:
    """For the lines that run down a straightened picture, whose first column begins at `x_mm`."""

    def __init__(
        self,
        straight: FloatArray32,
        x_mm: float,
        y_mm: float,
        frames: list[float],
        lines: list[float],
    ) -> None:
        count = max(1, round(len(straight) / (PLACE_MM * PX_A_MM)))
        self.dips = _dips(straight, count)
        self.first_mm = x_mm + 0.5 / PX_A_MM
        self.along = y_mm + (np.arange(count) + 0.5) * len(straight) / PX_A_MM / count
        at = np.array([*frames, *lines])
        order = np.argsort(at)
        self.at = at[order]
        self.kind = np.where(order < len(frames), FRAME, THIN)

    def seen(self) -> LinesSeen:
        """First each line after its neighbour; then once more close by, by how deep it is."""
        off, deep = np.full((2, len(self.at), len(self.along)), np.nan)
        usual, within = np.ones(2), (0.0, np.inf)
        for kind, reach in ((FRAME, _FRAME_REACH_MM), (THIN, _LINE_REACH_MM)):
            for n, after in self._order(kind):
                off[n], deep[n] = self._found(
                    n, self._running(off, after), reach, usual[kind], within
                )
            known = deep[(self.kind == kind)[:, None] & np.isfinite(deep)]
            usual[kind] = np.median(known) if len(known) else usual[kind]
            if kind == FRAME:
                usual[THIN], within = _THIN * usual[FRAME], _PERHAPS
        first = off.copy()
        for n, kind in enumerate(self.kind):
            near = self._running(first, n)
            off[n] = self._found(n, near, _NEAR_MM, usual[kind], _AS_DEEP)[0]
        return LinesSeen(self.at, self.along, off)

    def _order(self, kind: int) -> list[tuple[int, int]]:
        """Lines of a kind, each with the one that it is looked for after: a thin one after its
        neighbour on the side of the nearer frame, outer ones first; a frame after itself."""
        frames = np.flatnonzero(self.kind == FRAME)
        if kind == FRAME:
            return [(int(n), int(n)) for n in frames]
        gap = np.arange(len(self.at))[:, None] - frames
        nearest = frames[np.abs(gap).argmin(axis=1)]
        distance = np.abs(np.arange(len(self.at)) - nearest)
        thin = [int(n) for n in np.argsort(distance, kind="stable") if self.kind[n] == THIN]
        return [(n, n + int(np.sign(nearest[n] - n))) for n in thin]

    def _running(self, off: FloatArray, n: int) -> FloatArray:
        """Where a line lies by the running median of its places, 0 where nobody knows."""
        run = running_median(off[n])
        known = np.isfinite(run)
        if not known.any():
            return np.zeros(len(run))
        return np.interp(self.along, self.along[known], run[known])

    def _found(
        self, n: int, near: FloatArray, reach_mm: float, usual: float, within: tuple[float, float]
    ) -> tuple[FloatArray, FloatArray]:
        """How far a line lies from its place, and how deep its dip is; NaN for no answer.

        It is looked for round `near`, never as far as the next of its kind.
        """
        others = self.at[self.kind == FRAME] if self.kind[n] == FRAME else self.at
        room = _BETWEEN * np.sort(np.abs(others - self.at[n]))[1]
        reach = max(1, int(min(reach_mm, room) * PX_A_MM))
        middle = np.rint((self.at[n] + near - self.first_mm) * PX_A_MM).astype(int)
        at = middle[:, None] + np.arange(-reach - 1, reach + 2)
        rows = np.arange(len(near))
        dips = self.dips[rows[:, None], np.clip(at, 0, self.dips.shape[1] - 1)]
        tops = dips[:, 1:-1]
        is_top = (tops >= dips[:, :-2]) & (tops > dips[:, 2:])
        is_top &= (tops > usual * within[0]) & (tops < usual * within[1])
        tops = np.where(is_top, tops, 0.0)
        best = tops.argmax(axis=1)
        height = tops[rows, best]
        apart = np.abs(np.arange(tops.shape[1]) - best[:, None]) > _APART_MM * PX_A_MM
        is_clear = (height > 0.0) & (np.where(apart, tops, 0.0).max(axis=1) < _RIVAL * height)
        left, right = dips[rows, best], dips[rows, best + 2]
        with np.errstate(divide="ignore", invalid="ignore"):
            shift = 0.5 * (left - right) / (left - 2.0 * height + right)
        place = (at[rows, best + 1] + shift) / PX_A_MM + self.first_mm
        off = np.where(is_clear, place - self.at[n], np.nan)
        return off, np.where(is_clear, height, np.nan)


def _dips(straight: FloatArray32, count: int) -> FloatArray:
    """How much darker than around it, of the paper's brightness: a row a place, (count, w)."""
    width = straight.shape[1]
    bright = cv2.resize(straight, (width, count), interpolation=cv2.INTER_AREA)
    line, around, paper = (_smoothed(bright, mm) for mm in (_DIP_MM, _AROUND_MM, _PAPER_MM))
    dips = (around - line) / np.maximum(paper, 1.0)
    step = round(_SIDE_MM * PX_A_MM)
    lean = np.full_like(dips, np.inf)
    lean[:, step:-step] = np.abs(line[:, 2 * step :] - line[:, : -2 * step])
    return np.where(lean / np.maximum(paper, 1.0) < _LEAN * dips, dips, 0.0)


def _smoothed(bright: cv2.typing.MatLike, sigma_mm: float) -> cv2.typing.MatLike:
    sigma = sigma_mm * PX_A_MM
    half = int(np.ceil(3 * sigma))
    return cv2.GaussianBlur(
        bright, (2 * half + 1, 1), sigmaX=sigma, sigmaY=1.0, borderType=cv2.BORDER_REPLICATE
    )


def running_median(values: FloatArray) -> FloatArray:
    """(…, m) → the same shape: the median of each with its three neighbours on either side, NaN
    where fewer than three of them answered."""
    half = _RUN // 2
    beside = [(0, 0)] * (values.ndim - 1) + [(half, half)]
    wide = np.pad(values, beside, constant_values=np.nan)
    return median_of_known(
        np.lib.stride_tricks.sliding_window_view(wide, _RUN, axis=-1), _LEAST_RUN
    )


def median_of_known(values: FloatArray, least: int) -> FloatArray:
    """(…, k) → (…): the median of those that are not NaN; NaN where fewer than `least` are."""
    count = np.isfinite(values).sum(axis=-1)
    ordered = np.sort(values, axis=-1)  # NaN comes last
    last = values.shape[-1] - 1
    low, high = (
        np.take_along_axis(ordered, np.clip(at, 0, last)[..., None], axis=-1)[..., 0]
        for at in ((count - 1) // 2, count // 2)
    )
    return np.where(count >= least, (low + high) / 2.0, np.nan)
