"""Slips found and missed on seeds that nothing was tuned on.

`TOLERANCE_M` and what `survey/overlap.py` asks of matches were set on the seeds 1 to 12. These
are 201 to 220: two rows of eight; one lasting slip and one foot, of 0, 10, 30 or 60 mm, over sand,
over stones and timbers, over both. Found: the right kind, row and station. A slip of 10 mm is
below the tolerance and counts as none.

Last scored by hand on November 25th: of 20 found 19, missed 1, none told wrongly: recall 0.95,
precision 1; sizes off by 5 mm in the middle, 10 mm at most.
"""

import sys
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context

import cv2
import numpy as np
import pytest

from survey.overlap import PlacedFeatures, compare, features_of, neighbours
from survey.placement import Placement
from survey.slips import OnStation, slips
from tests import scenes

pytestmark = pytest.mark.slow

SEEDS = range(201, 221)
GROUNDS = ("mixed", "sand", "structured")
TOLD_M = 0.020


def told_of(seed):
    """Found, missed, wrongly told, and how far the sizes found were off, m."""
    cv2.setNumThreads(1)
    run, truth = scenes.run_with_slips(seed, GROUNDS[seed % 3], turned_rows=seed % 2 == 0)
    frames = [
        PlacedFeatures(one.key, features_of(run.frame(one)), Placement(run.placement(one)))
        for one in run.stations
    ]
    seen = [compare(frames[a], frames[b]) for a, b in neighbours(frames)]
    found = slips([OnStation(one.key, one.row, one.number) for one in run.stations], seen).slips
    said = {(str(one.kind), one.row, one.station): (one.x_m, one.y_m) for one in found}
    wanted = {tuple(one): by for *one, by in truth if np.hypot(*by) > TOLD_M}
    both = said.keys() & wanted.keys()
    errors = [float(np.hypot(*np.subtract(said[one], wanted[one]))) for one in both]
    return len(both), len(wanted) - len(both), len(said) - len(both), errors


@pytest.mark.parametrize(
    "seeds", [SEEDS[:3], pytest.param(SEEDS, marks=pytest.mark.by_hand)], ids=["three", "twenty"]
)
def test_slips_on_seeds_nothing_was_tuned_on(seeds, capsys):
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as pool:
        runs = list(pool.map(told_of, seeds))
    found, missed, wrong = (sum(run[n] for run in runs) for n in range(3))
    errors = [error for run in runs for error in run[3]]
    recall, precision = found / (found + missed), found / max(1, found + wrong)
    with capsys.disabled():
        sys.stdout.write(
            f"\nSlips on {len(runs)} runs, seeds {seeds[0]} to {seeds[-1]}: found {found}, missed "
            f"{missed}, wrongly told {wrong}: recall {recall:.3f}, precision {precision:.3f}; "
            f"sizes off by {1000 * np.median(errors):.0f} mm in the middle, "
            f"{1000 * max(errors):.0f} mm at most\n"
        )
    slack = 1 if len(seeds) < len(SEEDS) else 0  # one of three runs says little
    assert found + slack >= 0.95 * (found + missed)
    assert found + slack >= 0.90 * (found + wrong)
