"""How far apart footprints stand, how many cover a length, and what their overlap is worth.

Overlap p is the share of a footprint that its neighbour covers too: forward along a row, side
from row to row. Sources: strip photography, NPTEL course 105104100, module 3, lecture 21; 40 %
on a tower, 60 % where heights are wanted, is common practice.
"""

import math
from dataclasses import dataclass

from survey.errors import Unfit, UnfitError, demand_positive, gettext_noop

# A quotient is rounded so before it is counted up: 4.5 / 0.9 is 5.000000000000001.
_DECIMALS = 9
_MOST_STATIONS = 500


def spacing_m(footprint_m: float, overlap: float) -> float:
    """From one station to the next, or from row to row: B = (1 − p)·G, m.

    Raises ValueError for a footprint that is not positive, or an overlap not in 0 ≤ p < 1.
    """
    demand_positive("footprint", footprint_m)
    demand_overlap(overlap)
    return (1 - overlap) * footprint_m


def stations_along(length_m: float, footprint_m: float, step_m: float) -> int:
    """How many footprints at a step just cover a length: ceil((L − G)/B) + 1, or 1 if L ≤ G.

    The quotient is rounded to 1e-9 first, so that 6 m at 1.5 m and 0.9 m is 6 and not 7. (The
    course named above counts ceil(L/B) + 1: its photographs are *centred* on both ends.) Raises
    ValueError for values that are not positive.
    """
    demand_positive("length", length_m)
    demand_positive("footprint", footprint_m)
    demand_positive("step", step_m)
    left_m = length_m - footprint_m
    return math.ceil(round(left_m / step_m, _DECIMALS)) + 1 if left_m > 0.0 else 1


def seen_once_fraction(overlap: float) -> float:
    """The share of a footprint along a row that no neighbour sees: max(0, 1 − 2p).

    At 40 % the middle fifth, so that nothing tells its height, and nothing replaces it. Raises
    ValueError for an overlap not in 0 ≤ p < 1.
    """
    demand_overlap(overlap)
    return max(0.0, 1 - 2 * overlap)


def gap_of_a_lost_frame_m(footprint_m: float, overlap: float) -> float:
    """How wide a strip stays bare where one frame of a row is lost: max(0, 2B − G), m.

    0.2 G at 40 %, nothing from 50 % on. Raises ValueError as `spacing_m`.
    """
    demand_positive("footprint", footprint_m)
    return seen_once_fraction(overlap) * footprint_m


def demand_overlap(overlap: float) -> None:
    """Raises ValueError for an overlap that is not a fraction 0 ≤ p < 1."""
    if not 0.0 <= overlap < 1.0:
        raise ValueError(f"An overlap is a fraction from 0 to below 1, not {overlap!r}.")


@dataclass(frozen=True)
class Spread:
    """Stations, or rows, along one axis: `start`, `start + step`, … `count` of them, m."""

    start: float
    step: float
    count: int

    @classmethod
    def over(cls, low: float, high: float, size: float, widest: float, grain: float) -> "Spread":
        """Footprints of `size` that cover from `low` to `high`, edges and all, spread evenly, at
        steps up to `widest`, m; a length within one takes one in its middle.

        With a grain, starts and steps are multiples of it. Raises UnfitError beyond 500, and
        where the step is finer than the grain; ValueError as `stations_along`.
        """
        first, last = low + size / 2, high - size / 2
        if grain:
            return cls._on_grain(first / grain, last / grain, widest / grain, grain)
        count = _demand_few(stations_along(high - low, size, widest))
        if count == 1:
            return cls((low + high) / 2, widest, 1)
        return cls(first, (last - first) / (count - 1), count)

    @classmethod
    def _on_grain(cls, first: float, last: float, widest: float, grain: float) -> "Spread":
        """Counted in grains: the first station at `first` or before, the last one at `last` or
        beyond, steps of whole grains up to `widest`; what is beyond is shared by both ends."""
        start, end, most = _floor(first), -_floor(-last), _floor(widest)
        if end <= start:
            return cls(_floor((start + end) / 2) * grain, max(most, 1) * grain, 1)
        if most < 1:
            sentence = gettext_noop(
                "Stations would stand less than %(grain)s m apart. Ask for less overlap."
            )
            raise UnfitError(Unfit("step-too-fine", sentence, {"grain": grain}))
        count = _demand_few(-((start - end) // most) + 1)
        step = -((start - end) // (count - 1))
        start -= (start + (count - 1) * step - end) // 2
        return cls(tidy(start * grain), tidy(step * grain), count)


def _floor(quotient: float) -> int:
    return math.floor(round(quotient, _DECIMALS))


def tidy(metres: float) -> float:
    """Without the dust of binary sums: 0.1 × 3 is 0.3."""
    return round(metres, _DECIMALS)


def _demand_few(count: int) -> int:
    if count > _MOST_STATIONS:
        sentence = gettext_noop(
            "The area takes more than %(most)s stations a row, or rows. Plan it in parts."
        )
        raise UnfitError(Unfit("too-many-stations", sentence, {"most": _MOST_STATIONS}))
    return count
