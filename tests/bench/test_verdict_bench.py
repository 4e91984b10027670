"""The verdict on runs of known truth: are the squares named in which a hole is open?

Seeds 321 to 340, on which nothing was tuned (301 to 309 showed what to mend): two rows of ten
over sand, over stones and timbers, over both. Every other run is as it should be; of the others
seven frames of twenty have a fault, two stations were passed over, and there is one lasting slip
and one foot, which is worse than a season lets happen. The truth is a raster of the squares
against what each fit frame really saw, through the scene's own lens.
Frames stand to 3 mm and a lens bends by some more: what a few millimetres of edge amount to is
left open on either side of 0.02 m², the 2 % that a season of 98 % lets pass.
"""

import sys
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from multiprocessing import get_context

import cv2
import numpy as np
import pytest

from survey.grid import GridFrame, Square, squares_in_block
from survey.overlap import PlacedFeatures, compare, features_of, neighbours
from survey.placement import Placement, covered_outline
from survey.quality import PlacedFrame, judge, measure
from survey.slips import OnStation, slips
from survey.verdict import Taken, judge_run
from tests import scenes

pytestmark = pytest.mark.slow

SEEDS = range(321, 341)
GROUNDS = ("mixed", "sand", "structured")
CELL_M = 0.004
ALLOWED_M2, DOUBT_M2 = 0.02, 0.008
PRECISION = 0.9  # as of each flag


@dataclass(frozen=True)
class Told:
    """Of each square its true hole, m², and whether the verdict names it."""

    squares: tuple[tuple[float, bool], ...]

    @property
    def is_right(self) -> bool:
        """May the rails move? In doubt whether the largest hole is one, either will do."""
        largest = max(hole for hole, _named in self.squares)
        stopped = any(named for _hole, named in self.squares)
        return abs(largest - ALLOWED_M2) < DOUBT_M2 or stopped == (largest > ALLOWED_M2)


def spoilt_run(seed):
    """Faults of every kind, slips, and two stations that have no frame; every other seed none."""
    if seed % 2:
        return scenes.Run(seed, GROUNDS[seed % 3]), set()
    run = scenes.run_with_faults(seed, GROUNDS[seed % 3])
    slipped, _truth = scenes.run_with_slips(seed, GROUNDS[seed % 3])
    keys = {one.key for one in run.stations}
    run = replace(run, slips={key: by for key, by in slipped.slips.items() if key in keys})
    rng = np.random.default_rng([seed, 29])
    skipped = set(rng.choice(sorted(keys), 2, replace=False).tolist())
    return run, skipped


def told_of(seed):
    cv2.setNumThreads(1)
    run, skipped = spoilt_run(seed)
    there = [one for one in run.stations if one.key not in skipped]
    pictures = {one.key: run.frame(one) for one in there}
    judged = judge(
        [
            PlacedFrame(one.key, measure(pictures[one.key]), Placement(run.placement(one)), 0.0)
            for one in there
        ]
    )
    unfit = {one.key for one in judged if one.flags}
    features = [
        PlacedFeatures(one.key, features_of(pictures[one.key]), Placement(run.placement(one)))
        for one in there
    ]
    seen = [compare(features[a], features[b]) for a, b in neighbours(features)]
    moved = {}
    for slip in slips([OnStation(one.key, one.row, one.number) for one in there], seen).slips:
        for key in slip.keys:
            moved[key] = np.add(moved.get(key, (0.0, 0.0)), (slip.x_m, slip.y_m))
    planned = [outline(run, one) for one in run.stations]
    taken = [
        Taken(
            run.stations.index(one),
            outline(run, one) + moved.get(one.key, (0.0, 0.0)),
            one.key not in unfit,
        )
        for one in there
    ]
    wide, high = run.extent_m
    squares = squares_in_block((0, 0), (int(wide) - 1, int(high) - 1))
    verdict = judge_run(GridFrame(), squares, planned, taken, 1 - ALLOWED_M2)
    truth = true_holes(run, [one for one in there if one.key not in run.faults], planned, squares)
    return Told(tuple((truth[square], square in verdict.holes) for square in squares))


def outline(run, station):
    size = run.camera.width, run.camera.height
    return covered_outline(Placement(run.placement(station)), *size)


def true_holes(run, fit, planned, squares):
    """By cells: within any planned outline, and in no fit frame's real view."""
    holes = {}
    for square in squares:
        middle = (np.arange(round(1 / CELL_M)) + 0.5) * CELL_M
        x, y = (axis.ravel() for axis in np.meshgrid(square[0] + middle, square[1] + middle))
        reached = np.zeros(x.shape, bool)
        for corners in planned:
            reached |= inside(corners, x, y)
        shown = np.zeros(x.shape, bool)
        for station in fit:
            shown |= in_view(run, station, x, y)
        holes[Square(*square)] = float((reached & ~shown).mean())
    return holes


def inside(corners, x, y):
    """Left of each edge of a convex outline that runs counter-clockwise."""
    turns = np.roll(corners, -1, axis=0)
    area = np.sum(corners[:, 0] * turns[:, 1] - turns[:, 0] * corners[:, 1])
    sides = [
        (bx - ax) * (y - ay) - (by - ay) * (x - ax)
        for (ax, ay), (bx, by) in zip(corners, turns, strict=True)
    ]
    return np.all(np.sign(area) * np.array(sides) >= 0, axis=0)


def in_view(run, station, x, y):
    through = np.column_stack([x, y, np.ones_like(x)]) @ run.stand(station).to_picture(run.camera).T
    u, v = run.camera.bent(through[:, :2] / through[:, 2:]).T
    width, height = run.camera.width, run.camera.height
    return (u >= -0.5) & (u <= width - 0.5) & (v >= -0.5) & (v <= height - 0.5)


@pytest.mark.parametrize(
    "seeds", [SEEDS[:3], pytest.param(SEEDS, marks=pytest.mark.by_hand)], ids=["three", "twenty"]
)
def test_the_verdict_is_right_on_seeds_nothing_was_tuned_on(seeds, capsys):
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as pool:
        runs = list(pool.map(told_of, seeds))
    every = [one for run in runs for one in run.squares]
    open_ = [named for hole, named in every if hole > ALLOWED_M2 + DOUBT_M2]
    closed = [named for hole, named in every if hole < ALLOWED_M2 - DOUBT_M2]
    with capsys.disabled():
        sys.stdout.write(
            f"\nVerdicts on {len(runs)} runs, seeds {seeds[0]} to {seeds[-1]}: right on "
            f"{sum(run.is_right for run in runs)}; squares with a hole above "
            f"{ALLOWED_M2 + DOUBT_M2:.3f} m² {len(open_)}, named {sum(open_)}; below "
            f"{ALLOWED_M2 - DOUBT_M2:.3f} m² {len(closed)}, named {sum(closed)}; between "
            f"{len(every) - len(open_) - len(closed)}\n"
        )
    assert open_
    assert closed
    assert all(run.is_right for run in runs)
    assert all(open_)
    assert sum(open_) >= PRECISION * (sum(open_) + sum(closed))
