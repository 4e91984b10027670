"""Which frames of a run are unfit, judged against their neighbours over the same ground.

Two steps. `measure(picture)` looks at pixels once and keeps some 3 kB; `judge(frames)` compares
those and needs no picture, a hundredth of a second for 60 frames: as frames are stood elsewhere
it is simply asked again. Sand always looks soft and a stone always sharp; so a frame counts as
soft only if another one shows the *same ground* sharper.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np
import numpy.typing as npt

from survey.errors import Unfit, gettext_noop
from survey.measuring import FrameMeasure, measure, packed, unpacked
from survey.points import FloatArray
from survey.sameground import PlacedFrame, Shared, levelled, shared_ground

__all__ = [
    "Flag",
    "FrameMeasure",
    "Judgement",
    "PlacedFrame",
    "Remark",
    "judge",
    "measure",
    "packed",
    "unpacked",
]

# Thresholds, set on scenes of the seeds 1 to 12 and judged on others; see the bench.
SOFT_LOG = 0.25  # steepness below e^−0.25, 78 % of what the neighbour shows
LEAN = 0.18  # half the log ratio of steepness along and across
DARK_LEVEL, DARK_LOG = 32.0, -0.55
WHITE_SHARE, WHITE_MORE = 0.15, 0.02
SPECK_SHARE, SPECK_MORE = 0.06, 0.01


class Flag(StrEnum):
    """What is wrong with a frame."""

    MOTION = "motion"
    DEFOCUS = "defocus"
    DARK = "dark"
    BRIGHT = "bright"
    BACKSCATTER = "backscatter"


@dataclass(frozen=True)
class Remark:
    """A flag and its sentence, in English with places `%(name)s` that `values` fills.

    `values` has `frame` and, where one is named, `sharpest`: keys of frames, for a page to
    replace by what it calls them.
    """

    flag: Flag
    sentence: str
    values: Mapping[str, object] = field(default_factory=dict)

    def __str__(self) -> str:
        return self.sentence % self.values


@dataclass(frozen=True)
class Judgement:
    """What can be said of one frame.

    `sharpness`: its steepness over that of the sharpest frame that shares its ground, 1 as
    sharp; None where it cannot be told, with the reason in `unfit`. `sharpest`: the frame to show
    beside it, of those about as sharp the one that shares most ground; None where there is none.
    `blur_deg`: the direction of a movement on the grid, from +x counter-clockwise, 0 to 180.
    """

    key: str
    remarks: tuple[Remark, ...] = ()
    sharpness: float | None = None
    sharpest: str | None = None
    blur_deg: float | None = None
    unfit: Unfit | None = None

    @property
    def flags(self) -> frozenset[Flag]:
        """Empty where nothing is wrong, as far as can be told."""
        return frozenset(remark.flag for remark in self.remarks)


def judge(frames: Sequence[PlacedFrame]) -> list[Judgement]:
    """A judgement of each frame, in the order given.

    Each pair that shares ground gives the medians of its differences (`shared_ground`); one
    value a frame follows by least absolute deviations over all pairs (`levelled`), so that a
    frame is also held against frames two pairs away when its neighbours are blurred too. Soft:
    lower by `SOFT_LOG` than the best of those. Movement, not focus: its steepness, relative to
    its ground, leans by `LEAN` to one direction; the movement runs across that. Dark: mean level
    below `DARK_LEVEL`, or by `DARK_LOG` below the same ground elsewhere. Bright: clipped. Specks:
    more than on the same ground elsewhere. Dark, bright and specked frames are not judged for
    blur. A frame without neighbour is judged by itself, and `unfit` says what could not be told.
    """
    shared = shared_ground(frames)
    spoilt: dict[int, list[Remark]] = {}
    for index, frame in enumerate(frames):
        remarks = _exposure(frame, index, shared, len(frames))
        if remarks:
            spoilt[index] = remarks
    fit = [one for one in shared if one.one not in spoilt and one.other not in spoilt]
    sharp = _Sharpness(len(frames), fit)
    near = _cells_shared(len(frames), shared)
    return [
        _spoilt(frames, index, spoilt, near[index])
        if index in spoilt
        else _judgement(frames, index, sharp)
        for index in range(len(frames))
    ]


def _exposure(frame: PlacedFrame, index: int, shared: Sequence[Shared], count: int) -> list[Remark]:
    measured = frame.measure
    level, specks, white = (_against(index, shared, name) for name in ("level", "specks", "white"))
    said = {"frame": frame.key}
    remarks = []
    middling = float(np.median(level)) if len(level) else 0.0
    if measured.level.mean() < DARK_LEVEL or middling < DARK_LOG:
        remarks.append(Remark(Flag.DARK, _DARK if middling < DARK_LOG else _DARK_ALONE, said))
    share = float(measured.white.mean())
    more = share if not len(white) else float(np.median(white))
    if share > WHITE_SHARE or (share > WHITE_MORE and more > WHITE_MORE):
        values = {**said, "percent": round(100 * share)}
        remarks.append(Remark(Flag.BRIGHT, _BRIGHT, values))
    most = float(measured.specks.mean())
    least = float(specks.min()) if len(specks) else 0.0
    if not remarks and ((most > SPECK_SHARE and not len(specks)) or least > SPECK_MORE):
        remarks.append(Remark(Flag.BACKSCATTER, _BACKSCATTER, said))
    return remarks


def _against(index: int, shared: Sequence[Shared], name: str) -> FloatArray:
    """A difference of one frame against each of its neighbours."""
    ours = [getattr(one, name) for one in shared if one.one == index]
    theirs = [-getattr(one, name) for one in shared if one.other == index]
    return np.array([*ours, *theirs])


class _Sharpness:
    """One value of sharpness and one direction of blur a frame, from pairs."""

    def __init__(self, count: int, shared: Sequence[Shared]) -> None:
        pairs: npt.NDArray[np.int64] = np.array(
            [(one.one, one.other) for one in shared], dtype=np.int64
        ).reshape(-1, 2)
        weights = np.array([float(one.cells) for one in shared])
        self.value, self.cos, self.sin = (
            levelled(count, pairs, np.array([getattr(one, name) for one in shared]), weights)
            for name in ("sharpness", "lean_cos", "lean_sin")
        )
        self.near = _cells_shared(count, shared)

    def best(self, index: int, links: int) -> int | None:
        """The sharpest frame within so many pairs of a frame."""
        reached = {index}
        for _ in range(links):
            reached |= {far for one in reached for far in self.near[one]}
        reached.discard(index)
        return max(reached, key=lambda one: float(self.value[one])) if reached else None

    def beside(self, index: int, best: int) -> int:
        """Of those about as sharp as the best that share ground, the one that shares most."""
        about = self.value[best] - SOFT_LOG / 2
        near = {one: cells for one, cells in self.near[index].items() if self.value[one] > about}
        return max(near, key=near.__getitem__, default=best)

    def lean(self, index: int) -> float:
        return float(np.hypot(self.cos[index], self.sin[index]))

    def blur_deg(self, index: int) -> float:
        """Along the movement steepness is lost most."""
        turn = np.arctan2(-self.sin[index], -self.cos[index]) / 2.0
        return float(np.degrees(turn) % 180.0)


def _cells_shared(count: int, shared: Sequence[Shared]) -> list[dict[int, int]]:
    """Of each frame: its neighbours, and how many cells they share with it."""
    near: list[dict[int, int]] = [{} for _ in range(count)]
    for one in shared:
        near[one.one][one.other] = near[one.other][one.one] = one.cells
    return near


def _judgement(frames: Sequence[PlacedFrame], index: int, sharp: _Sharpness) -> Judgement:
    frame = frames[index]
    best = sharp.best(index, 2)
    if best is None:
        return Judgement(frame.key, (), unfit=_why_untold(frame, False))
    lower = float(sharp.value[index] - sharp.value[best])
    best = sharp.beside(index, best)  # for people to compare
    told = float(np.exp(min(lower, 0.0)))
    if lower > -SOFT_LOG:
        return Judgement(frame.key, (), told, frames[best].key)
    said = {"frame": frame.key, "sharpest": frames[best].key}
    if sharp.lean(index) < LEAN:
        remark = Remark(Flag.DEFOCUS, _DEFOCUS, said)
        return Judgement(frame.key, (remark,), told, frames[best].key)
    blur = sharp.blur_deg(index)
    remark = _moved(blur, frame.row_deg, said)
    return Judgement(frame.key, (remark,), told, frames[best].key, blur)


def _spoilt(
    frames: Sequence[PlacedFrame],
    index: int,
    spoilt: Mapping[int, list[Remark]],
    near: Mapping[int, int],
) -> Judgement:
    """Dark, bright or specked: beside it, the good frame that shares most of its ground."""
    good = {other: cells for other, cells in near.items() if other not in spoilt}
    beside = frames[max(good, key=good.__getitem__)].key if good else None
    key, remarks = frames[index].key, tuple(spoilt[index])
    return Judgement(key, remarks, sharpest=beside, unfit=_why_untold(frames[index], True))


def _moved(blur_deg: float, row_deg: float | None, said: Mapping[str, object]) -> Remark:
    if row_deg is None:
        values = {**said, "angle": round(blur_deg) % 180}
        return Remark(Flag.MOTION, _MOVED, values)
    off = abs((blur_deg - row_deg + 90.0) % 180.0 - 90.0)
    sentence = _MOVED_ALONG if off < 25.0 else _MOVED_ACROSS if off > 65.0 else _MOVED_SLANTING
    return Remark(Flag.MOTION, sentence, said)


def _why_untold(frame: PlacedFrame, spoilt: bool) -> Unfit:
    code, sentence = ("spoilt", _UNTOLD_SPOILT) if spoilt else ("no-neighbour", _UNTOLD_ALONE)
    return Unfit(code, sentence, {"frame": frame.key})


_MOVED_ALONG = gettext_noop(
    "Blurred by movement along the row: %(sharpest)s shows the same ground sharper than %(frame)s."
)
_MOVED_ACROSS = gettext_noop(
    "Blurred by movement across the row: %(sharpest)s shows the same ground sharper than %(frame)s."
)
_MOVED_SLANTING = gettext_noop(
    "Blurred by movement aslant the row: %(sharpest)s shows the same ground sharper than %(frame)s."
)
_MOVED = gettext_noop(
    "Blurred by movement, %(angle)s° from the grid's x: %(sharpest)s shows the same ground "
    "sharper than %(frame)s."
)
_DEFOCUS = gettext_noop(
    "Out of focus: %(frame)s is soft in every direction where %(sharpest)s shows the same ground "
    "sharp."
)
_DARK = gettext_noop("Too dark: %(frame)s is far darker than its neighbours over the same ground.")
_DARK_ALONE = gettext_noop("Too dark: hardly any light has reached %(frame)s.")
_BRIGHT = gettext_noop("Too bright: %(percent)s %% of %(frame)s is burnt out to white.")
_BACKSCATTER = gettext_noop(
    "Backscatter: %(frame)s is covered with bright specks that are not on the ground."
)
_UNTOLD_ALONE = gettext_noop(
    "No other frame shows enough of the same ground, so nobody can tell whether %(frame)s is sharp."
)
_UNTOLD_SPOILT = gettext_noop(
    "%(frame)s is too poorly exposed or too specked to tell whether it is sharp."
)
