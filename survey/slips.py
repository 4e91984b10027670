"""From pairs of frames to stations: where a tower slipped, by how much, and for how long.

Each pair says how much further one frame lies than its station does (`survey.overlap.compare`).
Along a row, a change that stays is a slip from there on, one that goes back a single foot.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from itertools import groupby, pairwise

import numpy as np
import numpy.typing as npt

from survey.errors import Unfit, gettext_noop
from survey.overlap import TOLERANCE_M, Seen
from survey.points import FloatArray
from survey.sameground import levelled, parts_of

# So many pairs of a row must agree before what they share is put down to set-up or step.
LEAST_STEPS = 4
# What every step of a row shows alike is told from here on: a wrong footprint or step.
STEADY_M = 0.012
# A row that lies aslant its neighbour by more than this is told as a whole.
ROW_M = 0.030


class SlipKind(StrEnum):
    """How far a slip reaches."""

    FROM_HERE = "from-here"
    ONLY_HERE = "only-here"
    WHOLE_ROW = "whole-row"
    EVERY_STEP = "every-step"


@dataclass(frozen=True)
class OnStation:
    """A frame and the station it stands on; stations of a row in the order of their numbers."""

    key: str
    row: int
    station: int


@dataclass(frozen=True)
class Slip:
    """Frames (`keys`) that lie elsewhere than their stations say, by `x_m`, `y_m` on the grid.

    The first of them stands on `station` of `row`. `sentence` with `values` says it to a person.
    """

    kind: SlipKind
    row: int
    station: int
    x_m: float
    y_m: float
    keys: tuple[str, ...]
    sentence: str
    values: Mapping[str, object] = field(default_factory=dict)

    @property
    def size_m(self) -> float:
        return math.hypot(self.x_m, self.y_m)

    def __str__(self) -> str:
        return self.sentence % self.values


@dataclass(frozen=True)
class RunSeen:
    """What the pairs of a run say together.

    `offsets`: key → x, y in m from where its station says, for frames that pairs tie to others;
    relative, since no pair says where the first one truly stands. `untold`: steps along a row
    that nothing bridges, so that a slip there would not show.
    """

    slips: tuple[Slip, ...]
    offsets: Mapping[str, tuple[float, float]]
    untold: tuple[Unfit, ...]


def slips(frames: Sequence[OnStation], seen: Sequence[Seen]) -> RunSeen:
    """Where the tower slipped, from all pairs of a run.

    What at least four steps of one row show alike is their median, and no slip but set-up, lens
    or step: it is taken off first and told by itself from 12 mm on. Then one offset a frame by
    least absolute deviations over all pairs, neighbours in the next row too (`levelled`). A
    change along a row of more than `TOLERANCE_M`, or three times what the run's steps scatter by,
    is a slip; where the frame after goes back, that foot alone. Raises ValueError for a frame
    named twice.
    """
    index = {frame.key: n for n, frame in enumerate(frames)}
    if len(index) != len(frames):
        raise ValueError(f"A frame is named twice: {[frame.key for frame in frames]!r}.")
    told = [one for one in seen if one.unfit is None and one.one in index and one.other in index]
    pairs: npt.NDArray[np.int64] = np.array(
        [(index[one.other], index[one.one]) for one in told], dtype=np.int64
    ).reshape(-1, 2)
    shift = np.array([(one.offset_x_m, one.offset_y_m) for one in told]).reshape(-1, 2)
    steady = _steady(frames, pairs, shift)
    weights = np.sqrt(np.array([float(one.matches) for one in told]))
    offset = np.stack([levelled(len(frames), pairs, shift[:, k], weights) for k in (0, 1)], axis=1)
    part = parts_of(len(frames), pairs)
    limit_m = _limit(frames, pairs, shift)
    rows = [
        _Row([frames[n] for n in members], offset[members], part[members], limit_m)
        for members in _rows(frames)
    ]
    found = [*steady, *(slip for row in rows for slip in row.slips), *_whole_rows(rows)]
    untold = tuple(one for row in rows for one in row.unbridged)
    tied = sorted(set(pairs.ravel().tolist()))
    offsets = {frames[n].key: (float(offset[n, 0]), float(offset[n, 1])) for n in tied}
    return RunSeen(tuple(found), offsets, untold)


def _rows(frames: Sequence[OnStation]) -> list[list[int]]:
    """A row's frames by index, in the order of their stations."""
    order = sorted(range(len(frames)), key=lambda n: (frames[n].row, frames[n].station))
    return [list(members) for _row, members in groupby(order, key=lambda n: frames[n].row)]


def _steady(
    frames: Sequence[OnStation], pairs: npt.NDArray[np.int64], shift: FloatArray
) -> list[Slip]:
    """What all steps of a row share, taken off `shift` in place."""
    steps: dict[int, list[tuple[int, int]]] = {}
    for m, (later, earlier) in enumerate(pairs.tolist()):
        one, other = frames[earlier], frames[later]
        if one.row == other.row and abs(other.station - one.station) == 1:
            steps.setdefault(one.row, []).append((m, other.station - one.station))
    found = []
    for row, members in steps.items():
        if len(members) < LEAST_STEPS:
            continue
        which, sign = np.array(members).T
        usual = np.median(shift[which] * sign[:, None], axis=0)
        shift[which] -= usual * sign[:, None]
        if np.hypot(*usual) > STEADY_M:
            of_row = [frame for frame in frames if frame.row == row]
            found.append(_slip(SlipKind.EVERY_STEP, of_row, usual, _EVERY_STEP))
    return found


@dataclass(frozen=True)
class _Break:
    """A change before member `at` of a row; `kind` is None where no pair bridges it."""

    at: int
    kind: SlipKind | None


class _Row:
    """One row: the offsets of its frames in the order of their stations, and where they change."""

    def __init__(
        self,
        frames: Sequence[OnStation],
        offset: FloatArray,
        part: npt.NDArray[np.int64],
        limit_m: float,
    ) -> None:
        self.frames, self.offset, self.part, self.limit_m = frames, offset, part, limit_m
        self.breaks = self._found()
        while (least := self._least()) is not None:
            self.breaks.remove(least)

    @property
    def slips(self) -> list[Slip]:
        return [self._told(one) for one in self.breaks if one.kind is not None]

    @property
    def unbridged(self) -> list[Unfit]:
        steps = [self.frames[one.at - 1 : one.at + 1] for one in self.breaks if one.kind is None]
        return [
            Unfit("unbridged", _UNBRIDGED, {"row": row, "before": a.station, "station": b.station})
            for row, (a, b) in ((step[0].row, step) for step in steps)
        ]

    @property
    def base(self) -> tuple[int, FloatArray]:
        """Before its first lasting change: the part it is tied to, and its usual offset."""
        ends = [one.at for one in self.breaks if one.kind is not SlipKind.ONLY_HERE]
        return int(self.part[0]), np.median(self.offset[: min(ends, default=None)], axis=0)

    def _found(self) -> list[_Break]:
        found, at = [], 1
        while at < len(self.frames):
            if self.part[at] != self.part[at - 1]:
                found.append(_Break(at, None))
            elif self._differ(at - 1, at):
                bridged = at + 1 < len(self.frames) and self.part[at + 1] == self.part[at]
                on = bridged and self._differ(at, at + 1)
                if on and not self._differ(at - 1, at + 1):
                    found.append(_Break(at, SlipKind.ONLY_HERE))
                    at += 1
                elif self._is_first(at - 1) and bridged and not on:  # one against all that follow
                    found.append(_Break(at - 1, SlipKind.ONLY_HERE))
                else:
                    found.append(_Break(at, SlipKind.FROM_HERE))
            at += 1
        return found

    def _is_first(self, at: int) -> bool:
        """Of the row, or after a step that nothing bridges."""
        return at == 0 or bool(self.part[at] != self.part[at - 1])

    def _least(self) -> _Break | None:
        """The smallest change that is none once more frames than two are asked."""
        sizes = [
            (float(np.hypot(*self._by(one))), one) for one in self.breaks if one.kind is not None
        ]
        size, least = min(sizes, key=lambda one: one[0], default=(math.inf, None))
        return least if size <= self.limit_m else None

    def _differ(self, one: int, other: int) -> bool:
        return bool(np.hypot(*(self.offset[other] - self.offset[one])) > self.limit_m)

    def _by(self, one: _Break) -> FloatArray:
        """How far: a single foot against both beside it, else three after against three before."""
        at, offset = one.at, self.offset
        if one.kind is SlipKind.ONLY_HERE:
            beside = [n for n in (at - 1, at + 1) if 0 <= n < len(offset)]
            return np.asarray(offset[at] - offset[beside].mean(axis=0))
        lasting = [other.at for other in self.breaks if other.kind is not SlipKind.ONLY_HERE]
        start = max([at - 3, 0, *(other for other in lasting if other < at)])
        end = min([at + 3, *(other for other in lasting if other > at)])
        return np.asarray(np.median(offset[at:end], axis=0) - np.median(offset[start:at], axis=0))

    def _told(self, one: _Break) -> Slip:
        if one.kind is SlipKind.ONLY_HERE:
            return _slip(SlipKind.ONLY_HERE, [self.frames[one.at]], self._by(one), _ONLY_HERE)
        # Of frames beyond a step that nothing bridges no pair says that they slipped along.
        after = range(one.at, len(self.frames))
        concerned = [self.frames[n] for n in after if self.part[n] == self.part[one.at]]
        return _slip(SlipKind.FROM_HERE, concerned, self._by(one), _FROM_HERE)


def _whole_rows(rows: Sequence[_Row]) -> list[Slip]:
    """Rows that lie beside the one before them otherwise than their stations say."""
    found = []
    for before, row in pairwise(rows):
        (its_part, its_base), (part, base) = before.base, row.base
        by = base - its_base
        if part == its_part and np.hypot(*by) > max(ROW_M, row.limit_m):
            found.append(_slip(SlipKind.WHOLE_ROW, row.frames, by, _WHOLE_ROW))
    return found


def _limit(frames: Sequence[OnStation], pairs: npt.NDArray[np.int64], shift: FloatArray) -> float:
    """`TOLERANCE_M`, or three times what the steps of this run scatter by, if that is more."""
    rows = np.array([frame.row for frame in frames])
    steps = np.flatnonzero(rows[pairs[:, 0]] == rows[pairs[:, 1]])
    if len(steps) < LEAST_STEPS:
        return TOLERANCE_M
    scatter = 1.4826 * np.median(np.abs(shift[steps]), axis=0)  # MAD to σ of a normal law
    return max(TOLERANCE_M, 3.0 * float(np.sqrt((scatter**2).mean())))


def _slip(kind: SlipKind, frames: Sequence[OnStation], by: FloatArray, sentence: str) -> Slip:
    first, (x_m, y_m) = frames[0], by.tolist()
    values = {
        "row": first.row,
        "station": first.station,
        "mm": round(1000 * math.hypot(x_m, y_m)),
        "direction": direction(x_m, y_m),
    }
    keys = tuple(frame.key for frame in frames)
    return Slip(kind, first.row, first.station, x_m, y_m, keys, sentence, values)


def direction(x_m: float, y_m: float) -> str:
    """A direction on the grid in signs that need no translation: +x, −y, or +x −y between."""
    signs = [("+" if part > 0 else "−") + axis for part, axis in ((x_m, "x"), (y_m, "y"))]
    aslant = math.degrees(math.atan2(abs(y_m), abs(x_m)))
    return signs[0] if aslant < 22.5 else signs[1] if aslant > 67.5 else " ".join(signs)


_FROM_HERE = gettext_noop(
    "From row %(row)s, station %(station)s on, the pictures lie %(mm)s mm further along "
    "%(direction)s than their stations say: the tower slipped."
)
_ONLY_HERE = gettext_noop(
    "On row %(row)s, station %(station)s alone the picture lies %(mm)s mm further along "
    "%(direction)s than its station says: the tower stood beside its place."
)
_WHOLE_ROW = gettext_noop(
    "Row %(row)s as a whole lies %(mm)s mm further along %(direction)s, beside the row before it, "
    "than the stations say."
)
_EVERY_STEP = gettext_noop(
    "In row %(row)s every step shows %(mm)s mm more along %(direction)s than planned. Check the "
    "step of the row and the footprint of the set-up."
)
_UNBRIDGED = gettext_noop(
    "In row %(row)s nothing could be recognised in both station %(before)s and station "
    "%(station)s; a slip between them would not show."
)
