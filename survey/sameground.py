"""Measures of frames compared where they show the same ground, without any pixel.

Frame i's cell centres go through its placement onto the grid and through j's placement back
into j, where the maps are read by linear interpolation. What the ground itself does to a measure
is then in both and falls out of the difference.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from survey.homography import project
from survey.measuring import FrameMeasure
from survey.placement import Placement, covered_outline, metres_a_pixel, pictured, to_plane
from survey.points import FloatArray

# Fewer shared cells say little: one stone may fill them.
LEAST_CELLS = 6

# Pictures of one ground at scales further apart than this show different detail.
MOST_SCALE_RATIO = 1.5

# The least steepness that is told apart from none, levels a pixel.
_NOTHING = 0.02


@dataclass(frozen=True, eq=False)
class PlacedFrame:
    """A frame's measure and where it lies: `key` names it, `placement` takes px of the measured
    picture's full size to the grid. `row_deg`: the direction of its row of stations, from +x
    counter-clockwise, where it stands in one."""

    key: str
    measure: FrameMeasure
    placement: Placement
    row_deg: float | None = None


@dataclass(frozen=True)
class Shared:
    """What two frames, `one` and `other` by index, differ in over the ground both show.

    Medians over `cells` cells, one less other. `sharpness`, `lean_cos`, `lean_sin`: the log of
    steepness along the grid direction φ, fine ÷ coarse, as s + a cos 2φ + b sin 2φ. `level`: log
    of the grey level. `specks`, `white`: means of shares.
    """

    one: int
    other: int
    cells: int
    sharpness: float
    lean_cos: float
    lean_sin: float
    level: float
    specks: float
    white: float


def shared_ground(frames: Sequence[PlacedFrame]) -> list[Shared]:
    """All pairs of frames that share ground enough; grows with the pairs that do.

    Frames of another size or scale than each other are not compared.
    """
    seen = [_on_grid(frame) for frame in frames]
    found = (_compared(one, other, seen[one], seen[other]) for one, other in _near(seen))
    return [shared for shared in found if shared is not None]


@dataclass(frozen=True, eq=False)
class _OnGrid:
    frame: PlacedFrame
    maps: FloatArray  # (6, rows, columns): log steepness along 0, 45, 90, 135°; log level; specks
    white: FloatArray
    centres: FloatArray  # (rows · columns, 2) on the grid, m
    low: FloatArray
    high: FloatArray
    mm: float


def _on_grid(frame: PlacedFrame) -> _OnGrid:
    measured, placement = frame.measure, frame.placement
    rows, columns = measured.level.shape
    u = (np.arange(columns) + 0.5) * measured.width_px / columns - 0.5
    v = (np.arange(rows) + 0.5) * measured.height_px / rows - 0.5
    cells = np.stack([np.tile(u, rows), np.repeat(v, columns)], axis=1)
    outline = covered_outline(placement, measured.width_px, measured.height_px)
    middle = np.array([(measured.width_px - 1) / 2, (measured.height_px - 1) / 2])
    return _OnGrid(
        frame,
        _maps(measured, _turn(placement, middle)),
        measured.white.astype(np.float64),
        to_plane(placement, cells),
        outline.min(axis=0),
        outline.max(axis=0),
        float(metres_a_pixel(placement, middle)) * 1000.0,
    )


def _turn(placement: Placement, middle: FloatArray) -> FloatArray:
    """Picture directions to grid directions at the middle: the Jacobian without its scale. There a
    lens hardly bends."""
    matrix = placement.matrix
    place, w = project(matrix, middle)
    jacobian = (matrix[:2, :2] - np.outer(place, matrix[2, :2])) / w
    return np.asarray(jacobian / np.sqrt(abs(np.linalg.det(jacobian))))


def _maps(measured: FrameMeasure, turn: FloatArray) -> FloatArray:
    tensor = np.array(
        [
            [measured.along_uu, measured.along_uv],
            [measured.along_uv, measured.along_vv],
        ],
        dtype=np.float64,
    )
    coarse = np.log(np.maximum(measured.coarse, _NOTHING))
    directions = np.radians([0.0, 45.0, 90.0, 135.0])
    on_grid = np.stack([np.cos(directions), np.sin(directions)], axis=1)
    along = on_grid @ turn  # turn is orthogonal but for tilt: its inverse is its transpose
    steep = np.einsum("ka,abrc,kb->krc", along, tensor, along)
    logs = np.log(np.maximum(steep, _NOTHING / 2)) - coarse
    level = np.log(np.maximum(measured.level, 1.0))
    return np.concatenate([logs, level[None], measured.specks[None]]).astype(np.float64)


def _near(seen: Sequence[_OnGrid]) -> Iterator[tuple[int, int]]:
    """Pairs whose boxes meet."""
    if not seen:
        return
    low, high = np.array([one.low for one in seen]), np.array([one.high for one in seen])
    for one in range(len(seen) - 1):
        meet = (low[one + 1 :] < high[one]) & (high[one + 1 :] > low[one])
        yield from ((one, one + 1 + int(n)) for n in np.flatnonzero(meet.all(axis=1)))


def _compared(one: int, other: int, a: _OnGrid, b: _OnGrid) -> Shared | None:
    if max(a.mm, b.mm) > MOST_SCALE_RATIO * min(a.mm, b.mm) or a.maps.shape != b.maps.shape:
        return None
    column, row = _cells_of(b, a.centres)
    rows, columns = b.white.shape
    inside = (column >= 0) & (column <= columns - 1) & (row >= 0) & (row <= rows - 1)
    if inside.sum() < LEAST_CELLS:
        return None
    maps = np.concatenate([a.maps, a.white[None]]).reshape(7, -1)[:, inside]
    there = np.concatenate([b.maps, b.white[None]])
    differ = maps - _read(there, column[inside], row[inside])
    along = np.median(differ[:4], axis=1)
    return Shared(
        one,
        other,
        int(inside.sum()),
        sharpness=float(along.mean()),
        lean_cos=float(along[0] - along[2]) / 2.0,
        lean_sin=float(along[1] - along[3]) / 2.0,
        level=float(np.median(differ[4])),
        specks=float(differ[5].mean()),
        white=float(differ[6].mean()),
    )


def _cells_of(seen: _OnGrid, points: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Where grid points lie in a frame's maps: columns and rows, counted at cell centres."""
    pixels = pictured(seen.frame.placement, points)
    rows, columns = seen.white.shape
    measured = seen.frame.measure
    column = (pixels[:, 0] + 0.5) * columns / measured.width_px - 0.5
    row = (pixels[:, 1] + 0.5) * rows / measured.height_px - 0.5
    return column, row


def _read(maps: FloatArray, column: FloatArray, row: FloatArray) -> FloatArray:
    """Linear interpolation of (k, rows, columns) at n places, (k, n)."""
    left = np.minimum(column.astype(int), maps.shape[2] - 2)
    top = np.minimum(row.astype(int), maps.shape[1] - 2)
    a, b = column - left, row - top
    upper = maps[:, top, left] * (1 - a) + maps[:, top, left + 1] * a
    lower = maps[:, top + 1, left] * (1 - a) + maps[:, top + 1, left + 1] * a
    return np.asarray(upper * (1 - b) + lower * b)


def levelled(
    count: int, pairs: npt.NDArray[np.int64], differences: FloatArray, weights: FloatArray
) -> FloatArray:
    """One value a frame from differences of pairs: the least Σ w·|vᵢ − vⱼ − d|, by reweighting.

    `pairs` (m, 2) of frames, `differences` (m,) one less other, `weights` (m,). Returns (count,),
    each connected part with median 0; frames in no pair are 0. Source: E. J. Schlossmacher, "An
    iterative technique for absolute deviations curve fitting", JASA 68, 1973 (from memory).
    """
    values: FloatArray = np.zeros(count, dtype=np.float64)
    if not len(pairs):
        return values
    part = parts_of(count, pairs)
    design = np.zeros((len(pairs), count))
    design[np.arange(len(pairs)), pairs[:, 0]] = 1.0
    design[np.arange(len(pairs)), pairs[:, 1]] = -1.0
    now = weights.astype(np.float64)
    for _ in range(12):
        normal = design.T @ (design * now[:, None]) + 1e-6 * np.eye(count)
        values = np.asarray(np.linalg.solve(normal, design.T @ (now * differences)))
        now = weights / np.maximum(np.abs(design @ values - differences), 0.02)
    for name in np.unique(part):
        values[part == name] -= np.median(values[part == name])
    return np.asarray(values)


def parts_of(count: int, pairs: npt.NDArray[np.int64]) -> npt.NDArray[np.int64]:
    """Which connected part each frame is in, named by its lowest index; (count,)."""
    part = np.arange(count)
    while True:
        before = part.copy()
        for one, other in pairs:
            part[one] = part[other] = min(part[one], part[other])
        if (part == before).all():
            return part
