"""Footprints of a turned tower: held against Shapely's areas, and by hand for diamonds."""

import math
from itertools import pairwise

import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely.affinity import rotate, translate

from survey.errors import Unfit
from survey.run_plan import Along, Area, Asked, BaseFootprint, plan_rows
from survey.turned import Lying

overlaps = st.one_of(st.sampled_from([0.0, 0.4, 0.6]), st.floats(0.0, 0.8))
sides = st.floats(0.5, 3.0)
turns = st.one_of(st.sampled_from([0.0, 30.0, 45.0, 90.0, 135.0, 270.0]), st.floats(-400.0, 400.0))


def laid(a_m, b_m, turn_deg):
    return rotate(shapely.box(-a_m / 2, -b_m / 2, a_m / 2, b_m / 2), turn_deg, origin=(0, 0))


@given(a_m=sides, b_m=sides, turn_deg=turns, overlap=overlaps)
@settings(max_examples=30, deadline=None)
def test_the_farthest_steps_keep_the_overlap_and_no_farther_one_does(a_m, b_m, turn_deg, overlap):
    frame = laid(a_m, b_m, turn_deg)
    lying = Lying.turned(a_m, b_m, turn_deg)
    ways = (lying, (1.0, 0.0)), (lying.aside, (0.0, 1.0))
    for seen, (x, y) in ways:
        step_m = seen.farthest_step_m(overlap)
        for stretched, at_least in ((1.0, True), (1.01, False)):
            s = step_m * stretched
            shared = frame.intersection(translate(frame, x * s, y * s)).area / frame.area
            assert shared == pytest.approx(seen.overlap_at(s), abs=1e-7)
            assert (shared >= overlap - 1e-7) is at_least or shared < 1e-6


@given(a_m=sides, b_m=sides, turn_deg=turns, part=st.floats(0.05, 0.95))
@settings(max_examples=30, deadline=None)
def test_reach_and_chord_are_what_shapely_cuts(a_m, b_m, turn_deg, part):
    frame, lying = laid(a_m, b_m, turn_deg), Lying.turned(a_m, b_m, turn_deg)
    across_m = part * lying.height_m()
    edge = shapely.LineString([(-9.0, across_m / 2), (9.0, across_m / 2)])
    reach_m = lying.reach_m(across_m)
    _left, low, _right, high = frame.bounds

    assert lying.height_m() == pytest.approx(high - low)
    assert lying.chord_m(across_m) == pytest.approx(frame.intersection(edge).length, abs=1e-7)
    if reach_m > 1e-6:
        within = shapely.box(-reach_m, -across_m / 2, reach_m, across_m / 2)
        assert within.difference(frame).area < 1e-7
        more = shapely.box(-reach_m - 1e-3, -across_m / 2, reach_m + 1e-3, across_m / 2)
        assert more.difference(frame).area > 1e-9


@given(a_m=sides, b_m=sides, turn_deg=turns, step=st.floats(0.1, 1.0))
@settings(max_examples=30, deadline=None)
def test_what_is_seen_once_is_what_shapely_leaves(a_m, b_m, turn_deg, step):
    frame, lying = laid(a_m, b_m, turn_deg), Lying.turned(a_m, b_m, turn_deg)
    beside = shapely.union_all([translate(frame, way * step, 0) for way in (-1, 1)])
    middle = shapely.LineString([(-9.0, 0.0), (9.0, 0.0)])
    lost = shapely.LineString([(-step, 0.0), (step, 0.0)]).difference(beside).length

    once = frame.difference(beside).area / frame.area
    assert lying.seen_once_fraction(step) == pytest.approx(once, abs=1e-7)
    assert lying.gap_of_a_lost_one_m(step) == pytest.approx(lost, abs=1e-6)
    assert lying.chord_m(0.0) == pytest.approx(frame.intersection(middle).length, abs=1e-7)


@given(
    area=st.builds(
        lambda x, y, length, width: Area(x, y, x + length, y + width),
        st.floats(-9.0, 9.0),
        st.floats(-9.0, 9.0),
        st.floats(0.2, 8.0),
        st.floats(0.2, 8.0),
    ),
    footprint=st.builds(BaseFootprint, sides, sides, st.floats(-0.1, 0.1), st.floats(-0.1, 0.1)),
    asked=st.builds(
        Asked,
        overlaps,
        overlaps,
        st.sampled_from(Along),
        serpentine=st.booleans(),
        turn_deg=turns,
        grain_m=st.sampled_from([0.0, 0.01]),
    ),
)
@settings(max_examples=40, deadline=None)
def test_every_plan_covers_its_area_with_the_overlaps_asked_for(area, footprint, asked):
    plan = plan_rows(area, footprint, asked)
    assume(not isinstance(plan, Unfit) and plan.frames < 600)

    middle = translate(
        shapely.box(-footprint.x_m / 2, -footprint.y_m / 2, footprint.x_m / 2, footprint.y_m / 2),
        footprint.middle_x_m,
        footprint.middle_y_m,
    )
    frame = rotate(middle, asked.turn_deg, origin=(0, 0))
    rows = [[translate(frame, *at) for at in _stations(row)] for row in plan.rows]
    wanted = shapely.box(area.x_min_m, area.y_min_m, area.x_max_m, area.y_max_m)
    bare = wanted.difference(shapely.union_all([one for row in rows for one in row]))
    assert bare.area < 1e-7
    for row in rows:
        for one, after in pairwise(row):
            assert _shared(one, after) >= asked.forward_overlap - 1e-7
            assert _shared(one, after) == pytest.approx(plan.forward_overlap, abs=1e-7)
    for row, beside in pairwise(rows):
        nearest = _shared(row[0], beside[-1 if asked.serpentine else 0])
        assert nearest >= asked.side_overlap - 1e-7
        assert nearest == pytest.approx(plan.side_overlap, abs=1e-7)


def test_diamonds_without_overlap_by_hand():
    """A square of 1 m on its corner, diagonal √2: in a band of width h it is √2 − h long, and
    that is the step at which four meet in the middle of a cell. Bands and steps of √2/2 take
    ⌈(4 − √2/2)/(√2/2)⌉ + 1 = 6 rows of 6 over 4 × 4 m, so no more are planned."""
    diagonal_m = math.sqrt(2)
    for band in Lying.turned(1.0, 1.0, 45.0).bands(0.0, 0.0):
        assert band.along_m == pytest.approx(diagonal_m - band.across_m)
        assert (band.step_m, band.apart_m) == pytest.approx((band.along_m, band.across_m))

    asked = Asked(0.0, 0.0, turn_deg=45.0)
    assert plan_rows(Area(0.0, 0.0, 4.0, 4.0), BaseFootprint(1.0, 1.0), asked).frames <= 36


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: Lying.turned(1.0, 1.0, math.nan),
        lambda: Lying(0.0, 1.0),
        lambda: Lying(1.0, 1.0).bands(1.0, 0.4),
        lambda: Lying(1.0, 1.0, 0.6, 0.8).farthest_step_m(-0.1),
    ],
)
def test_what_cannot_lie_is_refused(wrong):
    with pytest.raises(ValueError):
        wrong()


def _shared(one, other):
    return one.intersection(other).area / one.area


def _stations(row):
    angle = math.radians(row.direction_deg)
    return [
        (
            row.start_x_m + k * row.step_m * math.cos(angle),
            row.start_y_m + k * row.step_m * math.sin(angle),
        )
        for k in range(row.stations)
    ]
