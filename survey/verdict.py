"""May the rails move? What a run leaves open of the squares it was planned for.

A frame that is blurred or dark shows its ground to nobody, so only fit frames count here; and the
run answers only for what its stations reach, not for the far half of a square beyond its rows.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely

from survey.coverage import Hole, holes_within
from survey.grid import GridFrame, Square
from survey.points import FloatArray, as_points


@dataclass(frozen=True, eq=False)
class Taken:
    """A kept frame: the station it stands on, counted from 0 over the run, or None for a frame of
    elsewhere that shows the same ground; its outline on the grid, (k, 2), m, as well as it is
    known; and whether it is fit to be used, as `survey.quality` judges it."""

    station: int | None
    outline: FloatArray
    is_fit: bool = True


@dataclass(frozen=True, eq=False)
class Verdict:
    """`holes`: of each square that misses more than may be missing, the largest first; empty
    where the rails can move. `again`: stations to shoot again, counted from 0, in their order.
    `spared`: stations with no fit frame whose ground others show, so that nothing is lost."""

    holes: dict[Square, tuple[Hole, ...]]
    again: tuple[int, ...]
    spared: tuple[int, ...]

    @property
    def is_good(self) -> bool:
        return not self.holes


def judge_run(
    frame: GridFrame,
    squares: Iterable[tuple[int, int]],
    stations: Sequence[npt.ArrayLike],
    taken: Sequence[Taken],
    needed_fraction: float,
) -> Verdict:
    """Which holes a run has left, and which stations to shoot again to close them.

    A square is short when the part of it that the stations reach and no fit frame shows is more
    than (1 − needed) · s². Stations are then chosen one at a time: the one whose planned outline
    shows most of what is still open, a station without a fit frame before any other, until the
    squares are no longer short. `squares`: (column, row) of those whose photographs are wanted;
    `stations`: planned outlines in order, (k, 2), m; `needed_fraction`: 0 < f ≤ 1. Raises
    ValueError for another fraction, a station that the run has not, or an outline that crosses
    itself or encloses nothing.
    """
    _check(stations, taken, needed_fraction)
    fit = [one.outline for one in taken if one.is_fit]
    allowed_m2 = (1.0 - needed_fraction) * frame.side_m**2
    found = holes_within(frame, squares, stations, fit)
    short = {
        square: holes
        for square, holes in found.items()
        if sum(hole.area_m2 for hole in holes) > allowed_m2
    }
    served = {one.station for one in taken if one.is_fit}
    bare = [place for place in range(len(stations)) if place not in served]
    again = _chosen(stations, bare, list(short.values()), allowed_m2)
    return Verdict(short, again, tuple(place for place in bare if place not in again))


def _check(
    stations: Sequence[npt.ArrayLike], taken: Sequence[Taken], needed_fraction: float
) -> None:
    if not 0.0 < needed_fraction <= 1.0:
        raise ValueError(f"The needed fraction lies above 0 and up to 1, not {needed_fraction!r}.")
    beyond = [one.station for one in taken if one.station not in (None, *range(len(stations)))]
    if beyond:
        raise ValueError(f"A run of {len(stations)} stations has none of {beyond!r}.")


def _chosen(
    stations: Sequence[npt.ArrayLike],
    bare: Sequence[int],
    squares: Sequence[tuple[Hole, ...]],
    allowed_m2: float,
) -> tuple[int, ...]:
    """The stations that close the holes, as few as a greedy choice finds, in their order."""
    outlines = shapely.polygons([as_points(outline, (2,)) for outline in stations])
    is_bare = np.isin(np.arange(len(stations)), bare)
    still = np.array([_all_of(holes) for holes in squares], dtype=object)
    chosen: list[int] = []
    while len(still := still[shapely.area(still) > allowed_m2]):
        rest = shapely.union_all(still)
        shows = shapely.area(shapely.intersection(outlines, rest))
        shows[chosen] = 0.0
        first = np.where(is_bare & (shows > 0.0), shows, 0.0)
        best = int(np.argmax(first if first.max() > 0.0 else shows))
        if shows[best] <= 0.0:
            break
        chosen.append(best)
        still = shapely.difference(still, outlines[best])
    return tuple(sorted(chosen))


def _all_of(holes: Sequence[Hole]) -> shapely.Geometry:
    return shapely.union_all([shapely.Polygon(one.outline, one.islands) for one in holes])
