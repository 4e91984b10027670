"""What two frames of one tower share before it is known where either stands.

Both are laid on the tower's base, so that what they share says how the second stood to the first,
wherever that was. `survey.anchored` takes it in steps along a row. Where stations are known
already, `survey.overlap` compares more finely.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from survey.errors import Unfit, gettext_noop
from survey.overlap import RATIO, Features
from survey.placement import Placement, to_plane
from survey.points import FloatArray

# Relief, lean and a turn of the tower by two degrees move what is shared by so much, m.
AGREE_M = 0.025
# By chance four of a hundred matches agree; fewer than half as many elsewhere, or it repeats.
# Set on scenes of seeds 5 and 31 to 33.
LEAST_MATCHES, LEAST_TELLING = 6, 5
RIVAL_SHARE = 0.5
# A picture in which so little is found (black, burnt out, out of focus) tells nothing by showing
# nothing in common.
LEAST_FEATURES = 150
# Further beside the stations of a row than so many steps, frames do not follow each other there.
BESIDE_STEPS = 0.3


@dataclass(frozen=True)
class Shift:
    """The second frame stood `x_m`, `y_m` further along the axes of the tower's base.

    `matches` agree on it; none where both show enough and nothing in common. `unfit`: why it
    cannot be told.
    """

    x_m: float = 0.0
    y_m: float = 0.0
    matches: int = 0
    unfit: Unfit | None = None


def shift_between(
    one: Features, other: Features, base: Placement, other_base: Placement | None = None
) -> Shift:
    """How much further a frame stood than the one before, by what both show.

    Features are matched wherever they lie (nearest both ways, Lowe's ratio 0.85) and the
    differences one − other of their points on the base vote: the largest set within `AGREE_M` of
    one of them, and its mean. `base`, `other_base` (the same unless given): px of the features'
    pictures to the tower's base, m. Unfit: too little in a picture, too few matches either way, or
    a second answer nearly as good. About 13 ms for 400 features each.
    """
    if min(len(one.points), len(other.points)) < 2:
        return Shift(unfit=Unfit("few-features", _FEW_FEATURES))
    pairs = _matched(one, other)
    apart = _on_base(one, base)[pairs[:, 0]] - _on_base(other, other_base or base)[pairs[:, 1]]
    agree = _agreeing(apart)
    count = int(agree.sum())
    if count < LEAST_MATCHES:
        few = min(len(one.points), len(other.points)) < LEAST_FEATURES
        if few or count >= LEAST_TELLING:
            return Shift(unfit=Unfit("few-features", _FEW_FEATURES))
        return Shift()
    x_m, y_m = (float(value) for value in apart[agree].mean(axis=0))
    elsewhere = np.linalg.norm(apart - (x_m, y_m), axis=1) > 3.0 * AGREE_M
    if _agreeing(apart[elsewhere]).sum() > RIVAL_SHARE * count:
        return Shift(unfit=Unfit("repeating", _REPEATING))
    return Shift(x_m, y_m, count)


def in_steps(shift: Shift, steps: Sequence[tuple[float, float]]) -> float | None:
    """A shift as steps along a row: how `survey.anchors.Likeness` takes it; None beside all rows.

    `steps`: of each row, from one station to the next on the tower's base, m; the row is taken on
    whose stations the shift falls most nearly. Where rows run to and fro on the base, it is not
    known which way this one runs, and the steps are counted onward. Raises ValueError for a shift
    that was not measured, or a step of no length.
    """
    if not shift.matches:
        raise ValueError(f"Nothing was measured in {shift!r}.")
    best: tuple[float, float] | None = None
    for x_m, y_m in dict.fromkeys(steps):
        length2 = x_m * x_m + y_m * y_m
        if not length2 > 0.0:
            raise ValueError(f"A step leads somewhere, not by {(x_m, y_m)!r}.")
        along = (shift.x_m * x_m + shift.y_m * y_m) / length2
        along = abs(along) if _runs_back(x_m, y_m, steps) else along
        cross = (shift.x_m * y_m - shift.y_m * x_m) / length2
        off = float(np.hypot(along - round(along), cross))
        if abs(cross) <= BESIDE_STEPS and (best is None or off < best[0]):
            best = off, along
    return None if best is None else best[1]


def _runs_back(x_m: float, y_m: float, steps: Sequence[tuple[float, float]]) -> bool:
    """Whether another row runs the opposite way, within some ten degrees."""
    length = float(np.hypot(x_m, y_m))
    return any(
        x_m * other[0] + y_m * other[1] < -0.98 * length * float(np.hypot(*other))
        for other in steps
    )


def _on_base(features: Features, base: Placement) -> FloatArray:
    return to_plane(base, features.points.astype(np.float64))


def _matched(one: Features, other: Features) -> np.ndarray[tuple[int, int], np.dtype[np.intp]]:
    """Pairs of indices, (m, 2)."""
    a, b = one.descriptors.astype(np.float32), other.descriptors.astype(np.float32)
    far = np.sum(a * a, axis=1)[:, None] + np.sum(b * b, axis=1)[None] - 2.0 * a @ b.T
    far = np.maximum(far, 0.0)
    rows, best = np.arange(len(far)), far.argmin(axis=1)
    second = np.partition(far, 1, axis=1)[:, 1]
    good = (far[rows, best] < RATIO**2 * second) & (far.argmin(axis=0)[best] == rows)
    return np.stack([rows[good], best[good]], axis=1)


def _agreeing(apart: FloatArray) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """Which differences agree with the one that most agree with."""
    if not len(apart):
        return np.zeros(0, dtype=np.bool_)
    near = np.linalg.norm(apart[:, None] - apart[None], axis=2) < AGREE_M
    return np.asarray(near[int(near.sum(axis=1).argmax())])


_FEW_FEATURES = gettext_noop("Too little is to be recognised in these two pictures.")
_REPEATING = gettext_noop("What these two pictures have in common repeats itself, like ripples.")
