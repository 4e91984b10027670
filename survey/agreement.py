"""Drawing against photograph: how far apart the same features lie, and why.

A drawing disagrees with a photograph in two ways. Where the frame lay askew, all features are off
by one shift, one turn and one scale; where the drawing is careless, each is off by its own. The
best similarity tells the two apart: what it takes away was the frame's, what it leaves is the
drawing's (and the picking's).
"""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from survey.errors import Unfit, demand_positive, gettext_noop
from survey.points import FloatArray, as_points
from survey.told import Told, Weight

# Features nearer to their middle than this are one place: a turn or scale read from them would
# be made of how exactly they were picked.
LEAST_SPREAD_M = 0.02

# Shift, turn and scale are only named as the cause where they exceed this many of their own
# standard deviations (95 % at many degrees of freedom; common practice).
SURE_SIGMAS = 2.0

# What the words of a cause can still tell: less would be told as 0.
LEAST_TOLD_MM, LEAST_TOLD_DEG, LEAST_TOLD_PERCENT = 0.5, 0.05, 0.05


@dataclass(frozen=True)
class Similarity:
    """X = a·x − b·y + t_x, Y = b·x + a·y + t_y: shift, turn and scale together.

    a = s·cos θ, b = s·sin θ with scale s and turn θ, counter-clockwise.
    """

    a: float
    b: float
    t_x: float
    t_y: float

    @property
    def scale(self) -> float:
        return math.hypot(self.a, self.b)

    @property
    def turn_deg(self) -> float:
        """−180 < θ ≤ 180."""
        return math.degrees(math.atan2(self.b, self.a))

    def applied_to(self, points: npt.ArrayLike) -> FloatArray:
        """Points (2,) or (n, 2) through it, in the target's unit."""
        given = as_points(points, (2,))
        x, y = given[..., 0], given[..., 1]
        mapped = (self.a * x - self.b * y + self.t_x, self.b * x + self.a * y + self.t_y)
        return np.stack(mapped, axis=-1)


@dataclass(frozen=True, eq=False)
class BestFit:
    """The similarity that lays the drawing best on the photograph, and what it leaves.

    `shift_m` (2,): of the features' middle, on the grid. `residuals_m` (n, 2): fitted less
    photographed. With v the residuals: `degrees_of_freedom` 2n − 4, `rms_m` = √(vᵀv/n),
    `left_m` = √(vᵀv/(n − 2)): what one feature is off by when the four numbers that were fitted
    are paid for, so that few points do not flatter. `turn_sigma_deg`, `scale_sigma`: standard
    deviations, S₀/√Σ|p − p̄|² with S₀ = √(vᵀv/(2n − 4)), of a scale near 1.
    """

    similarity: Similarity
    shift_m: FloatArray
    residuals_m: FloatArray
    degrees_of_freedom: int
    rms_m: float
    left_m: float
    turn_sigma_deg: float
    scale_sigma: float

    @property
    def s0_m(self) -> float:
        """Standard deviation of one coordinate, √(vᵀv/(2n − 4)), m."""
        return self.left_m / math.sqrt(2.0)


@dataclass(frozen=True, eq=False)
class Agreement:
    """Offsets, photographed less drawn, (n, 2) m; their mean (2,) and root mean square distance.

    `best`: what a shift, a turn and a scale explain; Unfit where the points cannot say.
    """

    offsets_m: FloatArray
    mean_m: FloatArray
    rms_m: float
    best: BestFit | Unfit

    @property
    def distances_m(self) -> FloatArray:
        return np.asarray(np.hypot(self.offsets_m[:, 0], self.offsets_m[:, 1]))

    @property
    def can_judge(self) -> bool:
        """Three features or more, not all at one place: fewer may agree by chance alone."""
        return not isinstance(self.best, Unfit)


def agreement_of(drawn: npt.ArrayLike, photographed: npt.ArrayLike) -> Agreement | Unfit:
    """How far features of a drawing lie from the same features of a photograph.

    d = photographed − drawn; rms = √(Σ|d|²/n). `drawn`, `photographed`: (n, 2) of x, y on the
    grid, m, a row a feature. Unfit where there is no feature. Raises ValueError for arrays that
    do not match or are not finite.
    """
    source, target = _pairs(drawn, photographed)
    if not len(source):
        sentence = gettext_noop("Pick the same feature on drawing and photograph to compare them.")
        return Unfit("no-points", sentence)
    offsets = target - source
    rms_m = float(np.sqrt((offsets**2).sum() / len(offsets)))
    return Agreement(offsets, offsets.mean(axis=0), rms_m, best_fit(source, target))


def best_fit(source: npt.ArrayLike, target: npt.ArrayLike) -> BestFit | Unfit:
    """The similarity source → target with the least Σ|v|², v in the target's unit.

    With z, w the points about their middles as complex numbers: a + ib = Σ z̄·w / Σ|z|². The
    two-dimensional conformal transformation: C. Ghilani, *Adjustment Computations*, chapter 18.
    `source`, `target`: (n, 2), m. Unfit: fewer than three points (two always fit, so nothing
    would be left), or all at one place. Raises ValueError as `agreement_of`.
    """
    source, target = _pairs(source, target)
    count = len(source)
    if count < 3:
        sentence = gettext_noop(
            "Two points always fit a shift, a turn and a scale, so nothing would be left to see. "
            "Three or more tell a frame laid askew from careless drawing; there are %(count)s."
        )
        return Unfit("too-few-points", sentence, {"count": count})
    from_middle, to_middle = source.mean(axis=0), target.mean(axis=0)
    z, w = _complex(source - from_middle), _complex(target - to_middle)
    spread2 = float((np.abs(z) ** 2).sum())
    if math.sqrt(spread2 / count) < LEAST_SPREAD_M:
        sentence = gettext_noop(
            "The features lie at one place, so no turn or scale can be read from them. Pick some "
            "that spread over the square."
        )
        return Unfit("one-place", sentence)
    factor = complex((z.conj() * w).sum() / spread2)
    a, b = factor.real, factor.imag
    x, y = from_middle
    similarity = Similarity(
        a, b, float(to_middle[0] - a * x + b * y), float(to_middle[1] - b * x - a * y)
    )
    return _with_residuals(similarity, source, target, spread2)


def judged(agreement: Agreement, limit_m: float) -> Told:
    """Drawing and photograph agree, the frame lay askew, or the drawing is careless: in words.

    They agree where the root mean square offset is at most `limit_m` and the features can judge.
    Where these are too few or at one place, an offset within the limit says nothing, one beyond
    it that they differ. Beyond it otherwise: askew where the best fit leaves at most the limit,
    careless where it leaves more; both where it still takes half of it away. Raises ValueError
    for a limit that is not above 0.
    """
    demand_positive("limit", limit_m)
    best, rms_m = agreement.best, agreement.rms_m
    values: dict[str, object] = {
        "rms_mm": _mm_beside(rms_m, limit_m),
        "limit_mm": f"{limit_m * 1000:g}",
    }
    if rms_m <= limit_m and not agreement.can_judge:
        return Told("too-few-to-judge", Weight.MENTION, _TOO_FEW, values)
    if rms_m <= limit_m:
        sentence = gettext_noop(
            "Drawing and photograph agree: they differ by %(rms_mm)s mm, within the season's "
            "limit of %(limit_mm)s mm."
        )
        return Told("agree", Weight.FINE, sentence, values)
    if isinstance(best, Unfit):
        sentence = gettext_noop(
            "Drawing and photograph differ by %(rms_mm)s mm, more than the season's limit of "
            "%(limit_mm)s mm. So far the points do not say why."
        )
        return Told("differ", Weight.WARN, sentence, values)
    values["left_mm"] = _mm_beside(best.left_m, limit_m)
    if best.left_m <= limit_m:
        return Told("askew", Weight.WARN, _ASKEW, values)
    if best.left_m <= rms_m / 2.0:
        return Told("askew-and-careless", Weight.WARN, _BOTH, values)
    return Told("careless", Weight.WARN, _CARELESS, values)


_TOO_FEW = gettext_noop(
    "Within the limit so far, but too few features to judge: they differ by %(rms_mm)s mm of "
    "%(limit_mm)s mm. Pick three or more that spread over the square."
)
_ASKEW = gettext_noop(
    "The frame was probably laid or marked askew: drawing and photograph differ by %(rms_mm)s mm, "
    "but once shifted, turned and scaled only by %(left_mm)s mm. Look at the marks of the corners."
)
_BOTH = gettext_noop(
    "The frame was probably laid or marked askew, and the drawing is off besides: drawing and "
    "photograph differ by %(rms_mm)s mm, and by %(left_mm)s mm once shifted, turned and scaled."
)
_CARELESS = gettext_noop(
    "The drawing itself is probably off: it differs from the photograph by %(rms_mm)s mm, and "
    "still by %(left_mm)s mm once shifted, turned and scaled."
)


def causes(best: BestFit) -> list[Told]:
    """The shift, the turn and the scale, each told where it is more than chance and not nothing
    by the decimals that are told."""
    told = []
    distance_m = float(np.hypot(*best.shift_m))
    count = len(best.residuals_m)
    sure_m = SURE_SIGMAS * best.left_m / math.sqrt(count)
    if distance_m > max(sure_m, LEAST_TOLD_MM / 1000.0):
        values: dict[str, object] = {"mm": _mm(distance_m)}
        told.append(Told("shift", Weight.MENTION, gettext_noop("shifted by %(mm)s mm"), values))
    turn = best.similarity.turn_deg
    if abs(turn) > max(SURE_SIGMAS * best.turn_sigma_deg, LEAST_TOLD_DEG):
        words = (
            gettext_noop("turned by %(deg)s° counter-clockwise")
            if turn > 0
            else gettext_noop("turned by %(deg)s° clockwise")
        )
        told.append(Told("turn", Weight.MENTION, words, {"deg": f"{abs(turn):.1f}"}))
    more = best.similarity.scale - 1.0
    if abs(more) > max(SURE_SIGMAS * best.scale_sigma, LEAST_TOLD_PERCENT / 100.0):
        words = (
            gettext_noop("enlarged by %(percent)s %%")
            if more > 0
            else gettext_noop("made smaller by %(percent)s %%")
        )
        told.append(Told("scale", Weight.MENTION, words, {"percent": f"{abs(more) * 100:.1f}"}))
    return told


def _pairs(one: npt.ArrayLike, other: npt.ArrayLike) -> tuple[FloatArray, FloatArray]:
    first, second = (np.reshape(p, (0, 2)) if np.size(p) == 0 else p for p in (one, other))
    source, target = as_points(first, (2,)), as_points(second, (2,))
    if source.ndim != 2 or source.shape != target.shape:
        raise ValueError(f"Features come in pairs, not {source.shape!r} and {target.shape!r}.")
    return source, target


def _complex(points: FloatArray) -> npt.NDArray[np.complex128]:
    return points[:, 0] + 1j * points[:, 1]


def _with_residuals(
    similarity: Similarity, source: FloatArray, target: FloatArray, spread2: float
) -> BestFit:
    count = len(source)
    residuals = similarity.applied_to(source) - target
    square_sum = float((residuals**2).sum())
    freedom = 2 * count - 4
    sigma = math.sqrt(square_sum / freedom / spread2)
    return BestFit(
        similarity,
        shift_m=target.mean(axis=0) - source.mean(axis=0),
        residuals_m=residuals,
        degrees_of_freedom=freedom,
        rms_m=math.sqrt(square_sum / count),
        left_m=math.sqrt(square_sum / (count - 2)),
        turn_sigma_deg=math.degrees(sigma / similarity.scale) if similarity.scale else 180.0,
        scale_sigma=sigma,
    )


def _mm(metres: float) -> str:
    return f"{metres * 1000:.0f}"


def _mm_beside(metres: float, limit_m: float) -> str:
    """In whole mm, and with decimals where what is beyond the limit would else read as within."""
    for decimals in range(4):
        told = f"{metres * 1000:.{decimals}f}"
        if metres <= limit_m or float(told) > limit_m * 1000:
            break
    return told
