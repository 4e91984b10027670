"""How a rectangular footprint lies under a row of stations when its tower is turned.

Rows run along u, others lie beside them along v. A rectangle a × b turned by θ between them
covers |u·cos θ + v·sin θ| ≤ a/2 and |v·cos θ − u·sin θ| ≤ b/2: all below is plane geometry of
that, checked against Shapely's areas. Turning it the other way mirrors it, which changes nothing.
"""

import math
from dataclasses import dataclass

from survey.errors import demand_positive
from survey.spacing import demand_overlap, spacing_m

_HEIGHTS = 100  # of bands that are tried


@dataclass(frozen=True)
class Band:
    """A strip along a row that its footprints cover without a gap, and what it allows, m.

    `along_m`: how much of it one footprint covers from edge to edge; `step_m`: at most from
    station to station; `across_m`: its width; `apart_m`: at most from row to row.
    """

    along_m: float
    step_m: float
    across_m: float
    apart_m: float


@dataclass(frozen=True)
class Lying:
    """A footprint under its row: sides a and b in m, and its turn θ as cosine and sine ≥ 0.

    Unturned, a lies along the row. Raises ValueError for sides that are not positive.
    """

    a_m: float
    b_m: float
    cos: float = 1.0
    sin: float = 0.0

    def __post_init__(self) -> None:
        demand_positive("footprint along a row", self.a_m)
        demand_positive("footprint across rows", self.b_m)

    @classmethod
    def turned(cls, a_m: float, b_m: float, turn_deg: float) -> "Lying":
        """a × b m turned by any number of degrees. Raises ValueError for one not finite."""
        if not math.isfinite(turn_deg):
            raise ValueError(f"A turn is a number of degrees, not {turn_deg!r}.")
        quarters, rest_deg = divmod(turn_deg, 90.0)
        sides = (b_m, a_m) if quarters % 2 else (a_m, b_m)
        return cls(*sides, math.cos(math.radians(rest_deg)), math.sin(math.radians(rest_deg)))

    @property
    def aside(self) -> "Lying":
        """The same seen along v: what a row's neighbour beside it meets."""
        return Lying(self.b_m, self.a_m, self.cos, self.sin)

    def overlap_at(self, step_m: float) -> float:
        """The share of it that the next one, a step along u, covers too.

        (1 − s·cos θ/a)·(1 − s·sin θ/b), each at least 0: along its own sides the step is
        s·cos θ and s·sin θ.
        """
        along = max(0.0, 1 - step_m * self.cos / self.a_m)
        return along * max(0.0, 1 - step_m * self.sin / self.b_m)

    def farthest_step_m(self, overlap: float) -> float:
        """The largest step along u at which neighbours share an overlap, m.

        The smaller root of α·β·s² − (α + β)·s + 1 − p = 0 with α = cos θ/a, β = sin θ/b;
        (1 − p)·a where it is not turned. Raises ValueError unless 0 ≤ p < 1.
        """
        demand_overlap(overlap)
        if self.sin == 0.0:
            return spacing_m(self.a_m, overlap)
        alpha, beta = self.cos / self.a_m, self.sin / self.b_m
        root = math.sqrt((alpha - beta) ** 2 + 4 * alpha * beta * overlap)  # without cancelling
        return 2 * (1 - overlap) / (alpha + beta + root)

    def height_m(self) -> float:
        """Its whole extent across the row: a·sin θ + b·cos θ, m."""
        return self.a_m * self.sin + self.b_m * self.cos

    def reach_m(self, across_m: float) -> float:
        """How far it covers a band of this width to either side of its middle, m; below 0 where
        it nowhere covers all of the width: half the length of a rectangle inscribed along u."""
        return min(
            _over(self.a_m - self.sin * across_m, 2 * self.cos),
            _over(self.b_m - self.cos * across_m, 2 * self.sin),
        )

    def chord_m(self, across_m: float) -> float:
        """Its length along u on the edge of a band of this width, the shortest in the band, m.

        Footprints cover the band without a gap when they follow at this step or less.
        """
        a, b, c, s = self.a_m, self.b_m, self.cos, self.sin
        right = min(_over(a - s * across_m, 2 * c), _over(b + c * across_m, 2 * s))
        left = min(_over(a + s * across_m, 2 * c), _over(b - c * across_m, 2 * s))
        return right + left

    def seen_once_fraction(self, step_m: float) -> float:
        """The share of it that neither neighbour along u covers: 1 − 2·o(s) + o(2s)."""
        return 1 - 2 * self.overlap_at(step_m) + self.overlap_at(2 * step_m)

    def gap_of_a_lost_one_m(self, step_m: float) -> float:
        """How wide a gap a lost one leaves on the row's middle line: max(0, 2s − chord), m."""
        return max(0.0, 2 * step_m - self.chord_m(0.0))

    def bands(self, forward_overlap: float, side_overlap: float) -> list[Band]:
        """Bands that its row may cover, narrow to wide, with steps that keep both overlaps.

        Rows whose bands touch cover the plane, so that whichever is chosen leaves nothing bare;
        a wide band takes fewer rows and shorter steps. Not turned there is one, all it covers.
        Raises ValueError unless both overlaps lie in 0 ≤ p < 1.
        """
        step_m = self.farthest_step_m(forward_overlap)
        apart_m = self.aside.farthest_step_m(side_overlap)
        if self.sin == 0.0:
            return [Band(self.a_m, step_m, self.b_m, apart_m)]
        height_m = self.height_m()
        level_m = abs(self.a_m * self.sin - self.b_m * self.cos)  # chords shorten beyond this
        tried = {k * height_m / _HEIGHTS for k in range(1, _HEIGHTS)} | {apart_m, level_m}
        return [
            Band(
                2 * self.reach_m(across_m),
                min(step_m, self.chord_m(across_m)),
                across_m,
                min(apart_m, across_m),
            )
            for across_m in sorted(tried)
            if across_m > 0.0 and self.reach_m(across_m) > 0.0
        ]


def _over(length_m: float, share: float) -> float:
    """A side that runs along the row bounds nothing along it."""
    return length_m / share if share > 0.0 else math.inf
