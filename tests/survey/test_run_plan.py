"""Stations that cover an area, against a published example, hand counts and Shapely's areas."""

import math
from dataclasses import astuple
from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.affinity import rotate, translate

from survey.errors import Unfit
from survey.hovering import Keeping, hovering_pass, overlap_to_plan
from survey.run_plan import (
    Along,
    Area,
    Asked,
    BaseFootprint,
    base_footprint,
    plan_rows,
    work_of,
)
from survey.spacing import (
    gap_of_a_lost_frame_m,
    seen_once_fraction,
    spacing_m,
    stations_along,
)
from survey.told import Weight

areas = st.builds(
    lambda x, y, length, width: Area(x, y, x + length, y + width),
    st.floats(-50.0, 50.0),
    st.floats(-50.0, 50.0),
    st.floats(0.2, 12.0),
    st.floats(0.2, 12.0),
)
footprints = st.builds(
    BaseFootprint,
    x_m=st.floats(0.5, 3.0),
    y_m=st.floats(0.5, 3.0),
    middle_x_m=st.floats(-0.1, 0.1),
    middle_y_m=st.floats(-0.1, 0.1),
)
askings = st.builds(
    Asked,
    forward_overlap=st.floats(0.0, 0.8),
    side_overlap=st.floats(0.0, 0.8),
    along=st.sampled_from(Along),
    serpentine=st.booleans(),
    turn_deg=st.sampled_from([0.0, 90.0, 180.0, 270.0, -90.0]),
    grain_m=st.sampled_from([0.0, 0.01, 0.05]),
)


def stations_of(row):
    """Where the tower stands: x, y of each station."""
    angle = math.radians(row.direction_deg)
    return [
        (
            row.start_x_m + k * row.step_m * math.cos(angle),
            row.start_y_m + k * row.step_m * math.sin(angle),
        )
        for k in range(row.stations)
    ]


def covered(plan, footprint):
    """Each frame's rectangle on the grid, laid by Shapely: a list a row."""
    mx, my = footprint.middle_x_m, footprint.middle_y_m
    box = shapely.box(
        mx - footprint.x_m / 2,
        my - footprint.y_m / 2,
        mx + footprint.x_m / 2,
        my + footprint.y_m / 2,
    )
    return [
        [translate(rotate(box, row.turn_deg, origin=(0, 0)), *at) for at in stations_of(row)]
        for row in plan.rows
    ]


class TestSpacing:
    """NPTEL course 105104100, module 3, lecture 21, example 1: 45 × 36 km at 1:12 000, format
    23 cm, overlaps 60 and 30 %."""

    side_m = 0.23 * 12_000

    def test_the_air_base_and_the_strip_width_are_the_courses(self):
        assert spacing_m(self.side_m, 0.60) == pytest.approx(1_104.0)
        assert spacing_m(self.side_m, 0.30) == pytest.approx(1_932.0)

    def test_the_courses_own_formula_gives_its_counts(self):
        """ceil(L/B) + 1 centred on both ends, at the base flown, 19 s at 200 km/h; two more
        photographs on each side: 48 a strip, 20 strips, 960."""
        flown_m = 19 * 200 / 3.6
        a_strip = math.ceil(45_000 / flown_m) + 1 + 2 + 2
        strips = math.ceil(36_000 / spacing_m(self.side_m, 0.30)) + 1

        assert flown_m == pytest.approx(1_055.56, abs=5e-3)
        assert (a_strip, strips, a_strip * strips) == (48, 20, 960)

    def test_footprints_that_just_cover_are_fewer(self):
        """42 and 19, by hand: (45 000 − 2 760)/1 055.56 = 40.02, (36 000 − 2 760)/1 932 = 17.2."""
        assert stations_along(45_000, self.side_m, 19 * 200 / 3.6) == 42
        assert stations_along(36_000, self.side_m, spacing_m(self.side_m, 0.30)) == 19

    def test_a_long_tower_row_takes_twenty_five(self):
        """22.5 m at 1.5 m and 40 % (common practice): 21/0.9 = 23.3, so 24 steps."""
        assert stations_along(22.5, 1.5, spacing_m(1.5, 0.4)) == 25

    def test_binary_dust_adds_no_station(self):
        """6 m: 4.5/0.9 is 5 by hand, and 5.000000000000001 in binary."""
        assert (6.0 - 1.5) / spacing_m(1.5, 0.4) > 5
        assert stations_along(6.0, 1.5, spacing_m(1.5, 0.4)) == 6

    def test_a_length_within_one_footprint_takes_one_frame(self):
        assert stations_along(1.5, 1.5, 0.9) == stations_along(0.2, 1.5, 0.9) == 1
        assert stations_along(1.51, 1.5, 0.9) == 2

    @pytest.mark.parametrize(
        ("overlap", "once", "gap_m"), [(0.4, 0.2, 0.3), (0.5, 0.0, 0.0), (0.6, 0.0, 0.0)]
    )
    def test_what_forty_percent_costs(self, overlap, once, gap_m):
        """The middle fifth is seen once, a lost frame of 1.5 m leaves 0.2 G (common practice)."""
        assert seen_once_fraction(overlap) == pytest.approx(once)
        assert gap_of_a_lost_frame_m(1.5, overlap) == pytest.approx(gap_m)

    @given(overlap=st.floats(0.0, 0.9), footprint_m=st.floats(0.5, 3.0))
    def test_once_and_gap_are_what_shapely_measures(self, overlap, footprint_m):
        step_m = spacing_m(footprint_m, overlap)
        frames = [shapely.box(k * step_m, 0, k * step_m + footprint_m, 1) for k in range(-12, 13)]
        others = shapely.union_all([*frames[:12], *frames[13:]])
        alone_m2 = shapely.area(shapely.difference(frames[12], others, grid_size=1e-9))

        once = seen_once_fraction(overlap) * footprint_m
        assert once == pytest.approx(alone_m2, abs=1e-7)
        assert gap_of_a_lost_frame_m(footprint_m, overlap) == pytest.approx(alone_m2, abs=1e-7)


@given(area=areas, footprint=footprints, asked=askings)
@settings(max_examples=60)
def test_every_plan_covers_its_area_with_the_overlap_asked_for(area, footprint, asked):
    plan = plan_rows(area, footprint, asked)

    frames = covered(plan, footprint)
    wanted = shapely.box(area.x_min_m, area.y_min_m, area.x_max_m, area.y_max_m)
    bare = wanted.difference(shapely.union_all([one for row in frames for one in row]))
    assert bare.area < 1e-7
    assert plan.frames == sum(len(row) for row in frames)
    for row in frames:
        for one, after in pairwise(row):
            shared = one.intersection(after).area / one.area
            assert shared >= asked.forward_overlap - 1e-7
            assert shared == pytest.approx(plan.forward_overlap, abs=1e-7)
    for one, after in pairwise(plan.rows):
        way = min(math.dist(stations_of(one)[0], at) for at in stations_of(after))
        achieved = 1 - way / plan.footprint_across_m
        assert achieved >= asked.side_overlap - 1e-7
        assert achieved == pytest.approx(plan.side_overlap, abs=1e-7)


@given(area=areas, footprint=footprints, asked=askings)
@settings(max_examples=40)
def test_one_station_fewer_would_not_do(area, footprint, asked):
    """Spread as far as the overlap allows, one fewer falls short (exact stations)."""
    if asked.grain_m:
        asked = Asked(asked.forward_overlap, asked.side_overlap, asked.along)
    plan = plan_rows(area, footprint, asked)
    length_m = area.x_max_m - area.x_min_m
    if asked.along is Along.Y:
        length_m = area.y_max_m - area.y_min_m
    reach_m = plan.footprint_along_m
    reach_m += (plan.rows[0].stations - 2) * spacing_m(reach_m, asked.forward_overlap)

    assert plan.rows[0].stations == 1 or reach_m < length_m + 1e-6


@given(area=areas, footprint=footprints, asked=askings)
@settings(max_examples=40)
def test_exact_plans_reach_as_far_over_one_edge_as_over_the_other(area, footprint, asked):
    plan = plan_rows(area, footprint, asked)
    frames = shapely.union_all([one for row in covered(plan, footprint) for one in row])
    x_min, y_min, x_max, y_max = frames.bounds

    left, right = area.x_min_m - x_min, x_max - area.x_max_m
    low, high = area.y_min_m - y_min, y_max - area.y_max_m
    assert left == pytest.approx(right, abs=2 * asked.grain_m + 1e-7)
    assert low == pytest.approx(high, abs=2 * asked.grain_m + 1e-7)


def test_a_block_of_squares_by_hand():
    """6 × 4 m from (2, 3), footprint 1.5 × 1 m, 40 %: six stations at 0.9 m, six rows at 0.6 m;
    the first footprint's corner lies on the area's, so its middle stands at (2.75, 3.5)."""
    plan = plan_rows(Area(2.0, 3.0, 8.0, 7.0), BaseFootprint(1.5, 1.0), Asked(0.4, 0.4))

    first, second = plan.rows[:2]
    assert (first.start_x_m, first.start_y_m, first.direction_deg) == (2.75, 3.5, 0.0)
    assert (second.start_x_m, second.start_y_m, second.direction_deg) == (7.25, 4.1, 180.0)
    assert [row.stations for row in plan.rows] == [6] * 6
    assert first.step_m == 0.9
    assert (plan.forward_overlap, plan.side_overlap) == pytest.approx((0.4, 0.4))
    assert plan.frames == 36


def test_rows_may_all_run_one_way_and_along_the_other_axis():
    asked = Asked(0.4, 0.4, Along.Y, serpentine=False)
    plan = plan_rows(Area(2.0, 3.0, 8.0, 7.0), BaseFootprint(1.5, 1.0), asked)

    assert {row.direction_deg for row in plan.rows} == {90.0}
    assert {row.start_y_m for row in plan.rows} == {3.5}
    assert [row.start_x_m for row in plan.rows] == pytest.approx([2.75 + 0.9 * k for k in range(6)])


def test_stations_on_whole_centimetres_cover_all_the_same():
    """5 m at 1.45 m, 40 %, by hand in cm: from 72 (72.5) to 428 (427.5) at 87 at most takes five
    steps, of 72 (71.2); those reach 4 farther than needed, 2 over each edge: from 70 to 430."""
    plan = plan_rows(
        Area(0.0, 0.0, 5.0, 1.0), BaseFootprint(1.45, 1.0), Asked(0.4, 0.4, grain_m=0.01)
    )

    (row,) = plan.rows
    assert (row.start_x_m, row.step_m, row.stations) == (0.7, 0.72, 6)
    assert plan.side_overlap is None


def test_a_turned_tower_covers_with_its_other_side():
    """A quarter turn: 1.5 × 1 m lies 1 m along x; its middle, 0.1 m along the base's x, goes to
    0.1 m along +y, so the base stands 0.1 m below the footprint's middle."""
    footprint = BaseFootprint(1.5, 1.0, middle_x_m=0.1)
    plan = plan_rows(Area(0.0, 0.0, 1.0, 1.5), footprint, Asked(turn_deg=90.0))

    (row,) = plan.rows
    assert (row.start_x_m, row.start_y_m, row.stations) == pytest.approx((0.5, 0.65, 1))
    assert (plan.footprint_along_m, plan.footprint_across_m) == (1.0, 1.5)


def test_too_large_an_area_is_planned_in_parts():
    told = plan_rows(Area(0.0, 0.0, 600.0, 1.0), BaseFootprint(1.5, 1.0), Asked())

    assert isinstance(told, Unfit)
    assert "500" in str(told)


def test_steps_finer_than_the_rails_are_told():
    told = plan_rows(Area(0.0, 0.0, 9.0, 9.0), BaseFootprint(1.0, 1.0), Asked(0.9, grain_m=0.5))

    assert isinstance(told, Unfit)
    assert "less than 0.5 m apart" in str(told)


def test_the_rectangle_within_what_a_picture_covers():
    """By hand: a picture that narrows upward, and one whose outline is a rectangle off the
    middle."""
    narrowing = base_footprint([(-0.8, -0.5), (0.7, -0.52), (0.6, 0.5), (-0.6, 0.48)])
    straight = base_footprint([(-0.7, -0.5), (0.8, -0.5), (0.8, 0.5), (-0.7, 0.5)])

    assert astuple(narrowing) == pytest.approx((1.2, 0.98, 0.0, -0.01))
    assert astuple(straight) == pytest.approx((1.5, 1.0, 0.05, 0.0))


def test_a_camera_turned_on_its_tower_is_told():
    told = base_footprint([(0, -1), (1, 0), (0, 1), (-1, 0)])

    assert isinstance(told, Unfit)
    assert "turned on its tower" in str(told)


def test_minutes_and_dives_by_hand():
    """36 frames and 9 boards at 20 s are 15 minutes; dives of 6 minutes hold 18, so three."""
    plan = plan_rows(Area(2.0, 3.0, 8.0, 7.0), BaseFootprint(1.5, 1.0), Asked(0.4, 0.4))

    work = work_of(plan, 20.0, 6.0, board_frames=9)

    assert (work.shots, work.minutes, work.shots_a_dive, work.dives) == (45, 15.0, 18, 3)


def test_a_dive_shorter_than_a_frame_is_told():
    plan = plan_rows(Area(0.0, 0.0, 1.0, 1.0), BaseFootprint(1.5, 1.0), Asked())

    told = work_of(plan, 90.0, 1.0)

    assert isinstance(told, Unfit)
    assert "90.0 s" in str(told)


class TestHovering:
    def test_a_height_error_is_a_scale_error(self):
        """Similar triangles: 0.1 m of 2 m is 5 %, 50 mm a metre; 1.5 m shrink to 1.425 m and the
        0.9 m step leaves 0.525 of it, 36.8 %."""
        told = hovering_pass(2.0, 1.5, 0.4, Keeping(0.1))

        assert told.scale_error == pytest.approx(0.05)
        assert told.least_footprint_m == pytest.approx(1.425)
        assert told.greatest_footprint_m == pytest.approx(1.575)
        assert told.least_overlap == pytest.approx(0.525 / 1.425)
        assert told.told.weight is Weight.MENTION
        assert "50 mm wrong (5.0 %)" in str(told.told)
        assert "at least 37 %" in str(told.told)

    def test_drift_leaves_gaps(self):
        """0.9 + 2·0.4 = 1.7 m apart under footprints of 1.425 m: 0.275 m bare, by hand."""
        told = hovering_pass(2.0, 1.5, 0.4, Keeping(0.1, place_m=0.4))

        assert told.gap_m == pytest.approx(0.275)
        assert told.told.weight is Weight.WARN
        assert "0.28 m" in str(told.told)

    @given(
        height_m=st.floats(1.0, 5.0),
        footprint_m=st.floats(0.8, 4.0),
        overlap=st.floats(0.0, 0.9),
        keeping=st.builds(Keeping, st.floats(0.0, 0.5), st.floats(0.0, 0.3), st.floats(0.0, 8.0)),
        seed=st.integers(0, 2**32 - 1),
    )
    def test_no_drawn_pair_does_worse_than_the_worst(
        self, height_m, footprint_m, overlap, keeping, seed
    ):
        """A thousand pairs of neighbours drawn within what the diver keeps, the ends of the
        range among them: none overlaps less, and the worst of all is reached."""
        rng = np.random.default_rng(seed)
        ends = rng.choice([-1.0, 1.0], (1000, 2, 3))
        drawn = np.where(rng.random((1000, 2, 3)) < 0.3, ends, rng.uniform(-1, 1, (1000, 2, 3)))
        drawn[0] = [[-1, -1, -1], [-1, 1, 1]]
        high, place, tilt = np.moveaxis(drawn, 2, 0)
        size = footprint_m * (1 + high * keeping.height_m / height_m)
        middle = place * keeping.place_m + height_m * np.tan(np.radians(tilt * keeping.tilt_deg))
        middle[:, 1] += (1 - overlap) * footprint_m
        shared = size.mean(axis=1) - (middle[:, 1] - middle[:, 0])

        told = hovering_pass(height_m, footprint_m, overlap, keeping)

        assert told.least_overlap <= (shared / size.min(axis=1)).min() + 1e-9
        assert told.least_overlap == pytest.approx(shared[0] / size[0, 0], abs=1e-9)

    @given(
        wanted=st.floats(0.0, 0.8),
        keeping=st.builds(Keeping, st.floats(0.0, 0.3), st.floats(0.0, 0.2), st.floats(0.0, 5.0)),
    )
    def test_the_overlap_to_plan_keeps_the_one_wanted(self, wanted, keeping):
        planned = overlap_to_plan(2.0, 1.5, wanted, keeping)

        if planned is not None:
            left = hovering_pass(2.0, 1.5, planned, keeping).least_overlap
            assert left == pytest.approx(wanted, abs=1e-9)

    def test_no_overlap_mends_a_drift_as_wide_as_the_picture(self):
        assert overlap_to_plan(2.0, 1.5, 0.4, Keeping(0.0, place_m=0.75)) is None


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: Area(0.0, 0.0, 0.0, 1.0),
        lambda: Area(0.0, 0.0, math.inf, 1.0),
        lambda: BaseFootprint(0.0, 1.0),
        lambda: BaseFootprint(1.0, 1.0, middle_x_m=math.nan),
        lambda: Asked(forward_overlap=1.0),
        lambda: Asked(side_overlap=-0.1),
        lambda: Asked(turn_deg=math.inf),
        lambda: Asked(grain_m=-0.01),
        lambda: spacing_m(0.0, 0.4),
        lambda: stations_along(0.0, 1.5, 0.9),
        lambda: stations_along(6.0, 1.5, 0.0),
        lambda: seen_once_fraction(math.nan),
        lambda: gap_of_a_lost_frame_m(-1.0, 0.4),
        lambda: base_footprint([(0, 0), (1, 0), (1, 1)]),
        lambda: Keeping(-0.1),
        lambda: Keeping(0.1, tilt_deg=45.0),
        lambda: hovering_pass(2.0, 1.5, 0.4, Keeping(2.0)),
        lambda: hovering_pass(0.0, 1.5, 0.4, Keeping(0.0)),
        lambda: overlap_to_plan(2.0, 0.0, 0.4, Keeping(0.1)),
    ],
)
def test_what_cannot_be_planned_is_refused(wrong):
    with pytest.raises(ValueError):
        wrong()
