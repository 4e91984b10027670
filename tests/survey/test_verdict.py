"""The verdict on a run: against hand-computed holes and a raster count that knows no Shapely."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from survey.coverage import Where
from survey.grid import GridFrame, Square, squares_in_block
from survey.verdict import Taken, judge_run

METRE = GridFrame()
LONG_M, WIDE_M, STEP_M = 1.5, 1.0, 0.9  # 40 % along the row
SQUARES = squares_in_block((0, 0), (5, 0))


def footprint(x_m, y_m=0.5, long_m=LONG_M, wide_m=WIDE_M):
    half = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) / 2
    return half * (long_m, wide_m) + (x_m, y_m)


STATIONS = [footprint(0.75 + STEP_M * n) for n in range(6)]


def taken(*left_out, unfit=()):
    return [
        Taken(n, outline, n not in unfit) for n, outline in enumerate(STATIONS) if n not in left_out
    ]


def test_a_whole_run_lets_the_rails_move():
    verdict = judge_run(METRE, SQUARES, STATIONS, taken(), 0.98)

    assert verdict.is_good
    assert (verdict.again, verdict.spared) == ((), ())


@pytest.mark.parametrize("unfit", [False, True])
def test_a_lost_frame_leaves_a_fifth_of_its_footprint(unfit):
    """0.2 G at 40 % (common practice; the arithmetic of G − 2·0.4 G)."""
    frames = taken(unfit=(2,)) if unfit else taken(2)

    verdict = judge_run(METRE, SQUARES, STATIONS, frames, 0.98)

    assert verdict.again == (2,)
    areas = [hole.area_m2 for holes in verdict.holes.values() for hole in holes]
    assert sum(areas) == pytest.approx(0.2 * LONG_M * WIDE_M)
    assert list(verdict.holes) == [Square(2, 0)]  # stations 2 and 4 leave 2.4 to 2.7 m open
    assert verdict.holes[Square(2, 0)][0].where == Where.MIDDLE


def test_at_sixty_per_cent_one_lost_frame_loses_nothing():
    stations = [footprint(0.75 + 0.6 * n) for n in range(8)]
    frames = [Taken(n, outline) for n, outline in enumerate(stations) if n != 3]

    verdict = judge_run(METRE, SQUARES, stations, frames, 0.98)

    assert verdict.is_good
    assert verdict.spared == (3,)


def test_the_far_half_of_a_square_beyond_the_rows_is_not_this_runs_hole():
    verdict = judge_run(METRE, [*SQUARES, (6, 0), (0, 1)], STATIONS, taken(), 0.98)

    assert verdict.is_good  # the last footprint ends at 6.0 m, the row at y = 1.0 m


def test_frames_of_elsewhere_close_a_hole():
    verdict = judge_run(
        METRE, SQUARES, STATIONS, [*taken(2), Taken(None, footprint(2.55, long_m=0.4))], 0.98
    )

    assert verdict.is_good
    assert verdict.spared == (2,)


def test_where_every_station_has_a_fit_frame_the_nearest_ones_are_shot_again():
    """A tower that slipped by half a metre after station 3 opens 0.5 − 0.4·1.5 < 0: nothing; one
    that slipped by 0.8 m opens 0.2 m between stations 3 and 4."""
    frames = [*taken(3, 4, 5), *(Taken(n, STATIONS[n] + (0.8, 0.0)) for n in (3, 4, 5))]

    verdict = judge_run(METRE, SQUARES, STATIONS, frames, 0.98)

    holes = [hole for holes in verdict.holes.values() for hole in holes]
    assert sum(hole.area_m2 for hole in holes) == pytest.approx(0.2)
    assert verdict.again == (3,)


def test_what_the_season_lets_pass_is_no_hole():
    frames = [*taken(2), Taken(None, footprint(2.55, long_m=0.282))]

    assert judge_run(METRE, SQUARES, STATIONS, frames, 0.98).is_good  # 0.018 m² left
    assert not judge_run(METRE, SQUARES, STATIONS, frames, 0.99).is_good


@pytest.mark.parametrize("needed", [0.0, 1.01, float("nan")])
def test_a_fraction_that_is_none_is_refused(needed):
    with pytest.raises(ValueError, match="needed fraction"):
        judge_run(METRE, SQUARES, STATIONS, taken(), needed)


def test_a_station_that_the_run_has_not_is_refused():
    with pytest.raises(ValueError, match="stations has none"):
        judge_run(METRE, SQUARES, STATIONS, [Taken(6, STATIONS[0])], 0.98)


@settings(max_examples=40, deadline=None)
@given(st.sets(st.integers(0, 5)), st.lists(st.floats(-0.3, 0.3), min_size=6, max_size=6))
def test_holes_are_those_of_a_raster_count_and_shooting_again_closes_them(lost, slips_m):
    frames = [
        Taken(n, STATIONS[n] + (slips_m[n], 0.0)) for n in range(len(STATIONS)) if n not in lost
    ]
    verdict = judge_run(METRE, SQUARES, STATIONS, frames, 0.98)

    middle = (np.arange(6000) + 0.5) / 1000  # along x; every outline is 1 m wide from y = 0
    covered = np.zeros(6000, bool)
    for one in frames:
        covered |= (middle > one.outline[:, 0].min()) & (middle < one.outline[:, 0].max())
    open_m2 = (~covered).reshape(6, 1000).mean(axis=1)
    for column, area_m2 in enumerate(open_m2):
        if abs(area_m2 - 0.02) > 0.003:  # a raster knows no better
            assert (Square(column, 0) in verdict.holes) == (area_m2 > 0.02)
    again = [*frames, *(Taken(None, STATIONS[place]) for place in verdict.again)]
    assert judge_run(METRE, SQUARES, STATIONS, again, 0.98).is_good
