"""The free vertical pass: a diver hovers above the site, without rails, and photographs down.

What rails keep, a diver keeps roughly: the height, the place and the plumb line. Each error is
bounded by what the diver is trusted to keep within, and the worst of all together is told: a
bound, no probability. Source: similar triangles of a picture taken straight down.
"""

import math
from dataclasses import dataclass

from survey.errors import demand_positive, gettext_noop
from survey.spacing import demand_overlap, spacing_m
from survey.told import Told, Weight


@dataclass(frozen=True)
class Keeping:
    """What a hovering diver keeps within: height and place in m, the plumb line in degrees.

    Raises ValueError for a negative value, or a tilt of 45° or more.
    """

    height_m: float
    place_m: float = 0.0
    tilt_deg: float = 0.0

    def __post_init__(self) -> None:
        for value in (self.height_m, self.place_m, self.tilt_deg):
            if not 0.0 <= value < math.inf:
                raise ValueError(f"An error is 0 or more, not {value!r}.")
        if self.tilt_deg >= 45.0:
            raise ValueError(f"A picture straight down tilts by less than 45°, {self.tilt_deg!r}.")


@dataclass(frozen=True)
class HoveringPass:
    """What is left of a pass planned at a height with an overlap, at worst.

    `scale_error`: how much longer or shorter anything measured in one picture may come out, as
    a fraction; `least_footprint_m`, `greatest_footprint_m` along the row; `least_overlap`: the
    overlap of two low, tilted, drifted-apart neighbours as a fraction of their footprint,
    negative where a gap lies between them; `gap_m`: that gap, 0 where there is none.
    """

    scale_error: float
    least_footprint_m: float
    greatest_footprint_m: float
    least_overlap: float
    gap_m: float
    told: Told


def hovering_pass(
    height_m: float, footprint_m: float, overlap: float, keeping: Keeping
) -> HoveringPass:
    """The worst that a diver's height, place and tilt do to a pass without rails.

    Scale error e = Δh/h (what a tilt does to the scale within a picture is not in it); the
    footprint varies as G·(1 ± e). Two neighbours, planned B apart, are
    at worst both low and apart by B + 2·(Δp + h·tan τ): overlap left = 1 − that / (G·(1 − e)).
    `height_m` planned above the bottom, `footprint_m` there, along the row, `overlap` planned
    (0 ≤ p < 1). Raises ValueError for values that are not positive, or Δh ≥ h.
    """
    e = _height_error(height_m, keeping)
    step_m = spacing_m(footprint_m, overlap)
    least_m = footprint_m * (1 - e)
    apart_m = step_m + 2 * _drift_m(height_m, keeping)
    gap_m = max(0.0, apart_m - least_m)
    left = 1 - apart_m / least_m
    told = _told(e, overlap, left, gap_m)
    return HoveringPass(e, least_m, footprint_m * (1 + e), left, gap_m, told)


def overlap_to_plan(
    height_m: float, footprint_m: float, wanted: float, keeping: Keeping
) -> float | None:
    """Which overlap to plan, so that a hovering diver keeps `wanted` at worst.

    The inverse of `hovering_pass`: p = 1 − ((1 − p_wanted)·(1 − e)·G − 2·(Δp + h·tan τ)) / G.
    None where no overlap does. Raises ValueError as `hovering_pass`.
    """
    demand_overlap(wanted)
    demand_positive("footprint", footprint_m)
    e = _height_error(height_m, keeping)
    step_m = (1 - wanted) * (1 - e) * footprint_m - 2 * _drift_m(height_m, keeping)
    return 1 - step_m / footprint_m if step_m > 0.0 else None


def _height_error(height_m: float, keeping: Keeping) -> float:
    demand_positive("height", height_m)
    if keeping.height_m >= height_m:
        raise ValueError(f"An error of {keeping.height_m!r} m leaves no height of {height_m!r} m.")
    return keeping.height_m / height_m


def _drift_m(height_m: float, keeping: Keeping) -> float:
    return keeping.place_m + height_m * math.tan(math.radians(keeping.tilt_deg))


def _told(e: float, overlap: float, left: float, gap_m: float) -> Told:
    values = {
        "scale": round(100 * e, 1),
        "mm": round(1000 * e),
        "planned": round(100 * overlap),
        "left": round(100 * max(left, 0.0)),
        "gap": round(gap_m, 2),
    }
    if left < 0.0:
        sentence = gettext_noop(
            "Without rails a metre may be measured %(mm)s mm wrong (%(scale)s %%), and of "
            "%(planned)s %% overlap nothing may be left: a gap of up to %(gap)s m. Plan more "
            "overlap, and lay a scale into every picture."
        )
        return Told("gaps-when-hovering", Weight.WARN, sentence, values)
    sentence = gettext_noop(
        "Without rails a metre may be measured %(mm)s mm wrong (%(scale)s %%), and of "
        "%(planned)s %% overlap at least %(left)s %% is left. Lay a scale into every picture."
    )
    return Told("hovering", Weight.MENTION, sentence, values)
