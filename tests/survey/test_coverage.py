"""Coverage by footprints: against hand-computed holes and a raster count that knows no Shapely."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from survey.coverage import (
    SLIVER_FRACTION,
    Where,
    coverage_of_square,
    coverage_of_squares,
    fractions_of_squares,
    lie_in,
    overlap_fraction,
    squares_touched,
)
from survey.grid import GridFrame, Square, squares_in_block
from survey.placement import (
    Placement,
    Pose,
    covered_outline,
    placement_of_footprint,
    placement_on_grid,
)
from tests.survey.pinhole import HEIGHT_PX, WIDTH_PX, Pinhole

METRE = GridFrame()


def _rectangle(x_min, y_min, x_max, y_max):
    return np.array([[x_min, y_min], [x_max, y_min], [x_max, y_max], [x_min, y_max]], float)


def _station(x_m, y_m, turn_deg=0.0):
    """What a tower with a footprint of 0.8 × 1.2 m covers from a station."""
    set_up = placement_of_footprint(0.8, 1.2, 800, 1200)
    return covered_outline(placement_on_grid(set_up, Pose(x_m, y_m, turn_deg)), 800, 1200)


def _raster_fraction(outlines, side_m=1.0, cells=1000):
    """The share of cell middles inside any convex outline: left of each of its edges."""
    middle = (np.arange(cells) + 0.5) / cells * side_m
    x, y = np.meshgrid(middle, middle)
    covered = np.zeros_like(x, bool)
    for outline in outlines:
        inside = np.ones_like(covered)
        for (ax, ay), (bx, by) in zip(outline, np.roll(outline, -1, axis=0), strict=True):
            inside &= (bx - ax) * (y - ay) - (by - ay) * (x - ax) >= 0
        covered |= inside
    return covered.mean()


cameras_near = st.builds(
    Pinhole,
    x_m=st.floats(-0.3, 1.3),
    y_m=st.floats(-0.3, 1.3),
    height_m=st.floats(0.3, 1.0),
    tilt_deg=st.floats(0.0, 25.0),
    tilt_toward_deg=st.floats(0.0, 360.0),
    turn_deg=st.floats(0.0, 360.0),
)


def _outlines(cameras):
    return [
        covered_outline(Placement(camera.px_to_plane.ravel()), WIDTH_PX, HEIGHT_PX)
        for camera in cameras
    ]


def _check_against_raster(cameras):
    outlines = _outlines(cameras)

    coverage = coverage_of_square(METRE, 0, 0, outlines)
    told = sum(hole.area_m2 for hole in coverage.holes)

    assert coverage.fraction == pytest.approx(_raster_fraction(outlines), abs=0.005)
    assert told <= 1.0 - coverage.fraction + 1e-9


@settings(max_examples=8)
@given(cameras=st.lists(cameras_near, min_size=1, max_size=8))
def test_the_fraction_is_that_of_a_raster_count(cameras):
    _check_against_raster(cameras)


@pytest.mark.slow
@settings(max_examples=20)
@given(cameras=st.lists(cameras_near, min_size=1, max_size=12))
def test_the_fraction_is_that_of_a_raster_count_many_times(cameras):
    _check_against_raster(cameras)


def test_shifting_a_frame_by_400_mm_opens_the_hole_computed_by_hand():
    """Frames at x 0.2 and 0.8 cover [−0.2, 0.6] and [0.4, 1.2]; the second, moved to 1.2, covers
    from 0.8: the gap is 0.2 m wide and, as the frames are 1.2 m tall, 1 m high."""
    kept = _station(0.2, 0.5)

    before = coverage_of_square(METRE, 0, 0, [kept, _station(0.8, 0.5)])
    after = coverage_of_square(METRE, 0, 0, [kept, _station(1.2, 0.5)])

    assert before.fraction == 1.0
    assert before.holes == ()
    assert after.fraction == pytest.approx(0.8, abs=1e-9)
    (hole,) = after.holes
    assert hole.area_m2 == pytest.approx(0.2, abs=1e-9)
    assert (hole.centroid_x_m, hole.centroid_y_m) == pytest.approx((0.7, 0.5))
    assert hole.where is Where.RIGHT
    assert sorted(hole.outline.round(6).tolist()) == [[0.6, 0], [0.6, 1], [0.8, 0], [0.8, 1]]


def test_shifting_a_frame_up_opens_a_corner():
    """Four frames in a ring; the lower left one is 0.4 m too far up and right: of the corner
    [0, 0.2] × [0, 0.3] that only it covered, and nothing else, the hole is 0.06 m²."""
    others = [_rectangle(0.2, -0.1, 1.1, 0.6), _rectangle(-0.1, 0.3, 0.6, 1.1)]
    others.append(_rectangle(0.5, 0.5, 1.1, 1.1))
    shifted = _rectangle(-0.1, -0.1, 0.4, 0.5) + 0.4

    coverage = coverage_of_square(METRE, 0, 0, [*others, shifted])

    assert [hole.where for hole in coverage.holes] == [Where.DOWN_LEFT]
    assert coverage.holes[0].area_m2 == pytest.approx(0.06, abs=1e-9)
    assert coverage.fraction == pytest.approx(0.94, abs=1e-9)


@pytest.mark.parametrize(
    ("hole", "where"),
    [
        ((0.0, 0.9, 1.0, 1.0), Where.UP),
        ((0.0, 0.9, 0.9, 1.0), Where.UP),
        ((0.4, 0.3, 0.6, 1.0), Where.UP),
        ((0.0, 0.8, 0.2, 1.0), Where.UP_LEFT),
        ((0.8, 0.8, 1.0, 1.0), Where.UP_RIGHT),
        ((0.0, 0.2, 0.3, 0.9), Where.LEFT),
        ((0.0, 0.0, 0.7, 0.9), Where.DOWN_LEFT),
        ((0.9, 0.4, 1.0, 0.6), Where.RIGHT),
        ((0.3, 0.0, 0.7, 0.1), Where.DOWN),
        ((0.8, 0.0, 1.0, 0.1), Where.DOWN_RIGHT),
        ((0.4, 0.4, 0.6, 0.6), Where.MIDDLE),
        ((0.0, 0.4, 1.0, 0.6), Where.MIDDLE),
        ((0.0, 0.0, 1.0, 1.0), Where.MIDDLE),
    ],
)
def test_a_hole_is_named_by_where_it_lies(hole, where):
    """Everything round the hole is covered, by up to four rectangles."""
    x_min, y_min, x_max, y_max = hole
    round_it = [(0, 0, x_min, 1), (x_max, 0, 1, 1), (0, 0, 1, y_min), (0, y_max, 1, 1)]
    footprints = [_rectangle(*r) for r in round_it if r[0] < r[2] and r[1] < r[3]]

    (found,) = coverage_of_square(METRE, 0, 0, footprints).holes

    assert found.where is where
    assert found.area_m2 == pytest.approx((x_max - x_min) * (y_max - y_min), abs=1e-9)


def test_a_hole_all_round_an_island_says_so():
    (hole,) = coverage_of_square(METRE, 0, 0, [_rectangle(0.2, 0.2, 0.7, 0.7)]).holes

    assert hole.where is Where.AROUND
    assert hole.area_m2 == pytest.approx(0.75)
    assert len(hole.islands) == 1


def test_holes_come_largest_first_and_slivers_are_not_told():
    footprints = [
        _rectangle(0.0, 0.0, 0.4, 1.0),
        _rectangle(0.5, 0.0, 0.8, 1.0),
        _rectangle(0.8 + 0.9 * SLIVER_FRACTION, 0.0, 0.95, 1.0),
    ]

    coverage = coverage_of_square(METRE, 0, 0, footprints)

    assert [hole.area_m2 for hole in coverage.holes] == pytest.approx([0.1, 0.05])
    assert coverage.fraction == pytest.approx(0.85 - 0.9 * SLIVER_FRACTION)


def test_edges_that_meet_on_paper_leave_no_hole():
    """0.1 + 0.2 is not 0.3 in binary."""
    footprints = [
        _rectangle(0, 0, 0.1 + 0.2, 1),
        _rectangle(0.3, 0, 1, 0.7),
        _rectangle(0.3, 0.1 * 7, 1, 1),
    ]

    coverage = coverage_of_square(METRE, 0, 0, footprints)

    assert coverage.fraction == pytest.approx(1.0, abs=1e-9)
    assert coverage.holes == ()


def test_a_footprint_that_only_touches_the_square_adds_nothing():
    left = [[0.0, 0.0], [0.4, 0.0], [0.4, 1.0], [0.0, 1.0]]
    above = [[-0.5, 1.0], [1.5, 1.0], [1.5, 2.0], [-0.5, 2.0]]
    at_a_corner = [[1.0, 1.0], [2.0, 1.0], [2.0, 2.0], [1.0, 2.0]]

    assert coverage_of_square(METRE, 0, 0, [left, above, at_a_corner]).fraction == pytest.approx(
        0.4
    )
    assert coverage_of_square(METRE, 0, 0, [above, at_a_corner]).fraction == 0.0


def test_two_holes_joined_by_a_hairline_are_two():
    """The upper and the lower hole hang together by a gap of 5·10⁻¹⁷ m."""
    footprints = [
        _rectangle(0.0, 0.1, 0.3, 0.9),
        _rectangle(0.1 + 0.2, 0.1, 1.0, 0.9),
        _rectangle(0.0, 0.0, 0.2, 1.0),
        _rectangle(0.4, 0.0, 1.0, 1.0),
    ]

    holes = coverage_of_square(METRE, 0, 0, footprints).holes

    assert {hole.where for hole in holes} == {Where.UP_LEFT, Where.DOWN_LEFT}
    assert [hole.area_m2 for hole in holes] == pytest.approx([0.02, 0.02])


def test_nothing_covers_nothing():
    coverage = coverage_of_square(METRE, 3, -2, [])

    assert coverage.fraction == 0.0
    assert coverage.holes[0].area_m2 == pytest.approx(1.0)
    assert coverage_of_square(METRE, 3, -2, [_rectangle(0, 0, 1, 1)]).fraction == 0.0


def test_a_square_of_another_side_counts_by_its_own_area():
    frame = GridFrame(side_m=2.0)

    coverage = coverage_of_square(frame, -1, 0, [_rectangle(-2.0, 0.0, -1.0, 2.0)])

    assert coverage.fraction == pytest.approx(0.5)
    assert coverage.holes[0].area_m2 == pytest.approx(2.0)


def test_many_squares_at_once_are_each_as_alone():
    footprints = [
        _station(0.3 + 0.55 * i, 0.4 + 0.9 * j, 7.0 * i) for i in range(8) for j in range(5)
    ]
    squares = squares_in_block((-1, -1), (5, 4))

    together = coverage_of_squares(METRE, squares, footprints)

    assert list(together) == squares
    for square in squares:
        alone = coverage_of_square(METRE, *square, footprints)
        assert together[square].fraction == pytest.approx(alone.fraction, abs=1e-12)
        assert len(together[square].holes) == len(alone.holes)
    assert together[Square(2, 2)].fraction > 0.9
    assert together[Square(-1, -1)].fraction < 0.3


@given(camera=cameras_near)
def test_the_fractions_of_one_frame_add_up_to_its_area(camera):
    (outline,) = _outlines([camera])
    x, y = outline.T
    area = (x * np.roll(y, -1) - y * np.roll(x, -1)).sum() / 2

    fractions = fractions_of_squares(METRE, outline)

    ignored = SLIVER_FRACTION * 25
    assert area - ignored <= sum(fractions.values()) <= area + 1e-9
    assert all(SLIVER_FRACTION < fraction <= 1.0 for fraction in fractions.values())


def test_a_frame_touches_the_squares_that_it_covers_and_no_others():
    footprint = _rectangle(-0.25, 0.5, 1.0, 1.5)

    assert fractions_of_squares(METRE, footprint) == pytest.approx(
        {Square(-1, 0): 0.125, Square(-1, 1): 0.125, Square(0, 0): 0.5, Square(0, 1): 0.5}
    )
    assert squares_touched(METRE, footprint) == [(-1, 0), (-1, 1), (0, 0), (0, 1)]


def test_overlap_is_the_share_of_the_first_that_the_other_covers():
    """Stations 0.48 m apart under a footprint of 0.8 m: 40 %."""
    assert overlap_fraction(_station(0, 0), _station(0.48, 0)) == pytest.approx(0.4)
    assert overlap_fraction(_station(0, 0), _station(0, 0)) == pytest.approx(1.0)
    assert overlap_fraction(_station(0, 0), _station(5, 0)) == 0.0
    assert overlap_fraction(_rectangle(0, 0, 1, 1), _rectangle(0, 0, 2, 1)) == pytest.approx(1.0)
    assert overlap_fraction(_rectangle(0, 0, 2, 1), _rectangle(0, 0, 1, 1)) == pytest.approx(0.5)


@pytest.mark.parametrize(
    "outline",
    [
        [[0, 0], [1, 0]],
        [0.0, 1.0],
        [[0, 0], [1, 1], [1, 0], [0, 1]],
        [[0, 0], [1, 1], [2, 2]],
        [[0, 0], [1, 0], [1, float("nan")]],
        [[0, 0, 0], [1, 0, 0], [1, 1, 0]],
    ],
)
def test_an_outline_that_encloses_nothing_is_a_wrong_call(outline):
    with pytest.raises(ValueError, match="not "):
        coverage_of_square(METRE, 0, 0, [_rectangle(0, 0, 1, 1), outline])


def test_coverage_has_no_preferred_corner():
    """Turned by a quarter about the square's middle, a hole is named by the turned side."""
    left = [_rectangle(0.2, 0.0, 1.0, 1.0)]
    turned = [np.column_stack([1.0 - left[0][:, 1], left[0][:, 0]])]

    assert coverage_of_square(METRE, 0, 0, left).holes[0].where is Where.LEFT
    assert coverage_of_square(METRE, 0, 0, turned).holes[0].where is Where.DOWN
    assert_allclose(coverage_of_square(METRE, 0, 0, turned).holes[0].area_m2, 0.2)


def test_points_lie_in_a_footprint_or_so_far_beside_it():
    points = [[0.1, 0.1], [1.04, 0.5], [1.06, 0.5], [-0.04, -0.04]]  # the last 0.057 from a corner

    assert lie_in(_rectangle(0, 0, 1, 1), points, 0.05).tolist() == [True, True, False, False]
    assert lie_in(_rectangle(0, 0, 1, 1), points, 0.0).tolist() == [True, False, False, False]
