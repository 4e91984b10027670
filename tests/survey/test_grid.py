"""The grid in its site: the coordinate table of the design, held against outside references."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from scipy.spatial.transform import Rotation

from survey.errors import UnfitError
from survey.grid import (
    SITE_LIMIT_M,
    Direction,
    GridFrame,
    LabelKind,
    LabelStyle,
    Square,
    axes,
    corners,
    neighbours,
    offsets_in_square,
    point_from_offsets,
    square_at,
    squares_at,
    squares_in_block,
    to_grid,
    to_site,
    turn_on_page_deg,
)

metres = st.floats(-1000.0, 1000.0)
bearings = st.floats(-720.0, 720.0)
slopes = st.one_of(
    st.sampled_from([0.0, 60.0, 90.0, -60.0]),
    st.floats(-90.0, 90.0, exclude_min=True),
)
frames = st.builds(
    GridFrame,
    origin_e_m=metres,
    origin_n_m=metres,
    origin_z_m=st.floats(-100.0, 0.0),
    bearing_deg=bearings,
    slope_deg=slopes,
    side_m=st.sampled_from([0.1, 0.2, 0.5, 1.0, 2.0, 5.0]),
)


@given(frame=frames)
def test_axes_are_orthonormal_and_right_handed(frame):
    unit = axes(frame)

    assert_allclose(unit @ unit.T, np.eye(3), atol=1e-15)
    assert_allclose(np.cross(unit[0], unit[1]), unit[2], atol=1e-15)
    assert unit[0, 2] == 0.0, "x is always level"


@pytest.mark.parametrize("slope_deg", [0.0, 60.0, 90.0])
@pytest.mark.parametrize("bearing_deg", [0.0, 37.0, 90.0, 180.0, 301.5])
def test_axes_equal_two_turns_by_scipy(bearing_deg, slope_deg):
    """Tilt about the site's E axis, then turn about Z clockwise: scipy's own rotations."""
    turns = Rotation.from_euler("xz", [slope_deg, -bearing_deg], degrees=True)

    assert_allclose(
        axes(GridFrame(bearing_deg=bearing_deg, slope_deg=slope_deg)).T,
        turns.as_matrix(),
        atol=1e-15,
    )


def test_a_plan_grid_lies_as_drawn_by_hand():
    """Bearing 90: y runs east, x runs south."""
    frame = GridFrame(100.0, 200.0, -18.0, bearing_deg=90.0)

    assert to_site(frame, [2.0, 3.0]).tolist() == [103.0, 198.0, -18.0]
    assert to_site(frame, [2.0, 3.0, 0.5]).tolist() == [103.0, 198.0, -17.5]


def test_a_wall_stands_up_and_looks_back_at_its_viewer():
    """One looks north (bearing 0) at a wall: x runs east, y up, w south toward the viewer."""
    frame = GridFrame(10.0, 20.0, -6.0, bearing_deg=0.0, slope_deg=90.0)

    assert to_site(frame, [1.0, 2.0, 0.25]).tolist() == [11.0, 19.75, -4.0]


def test_a_slope_of_60_rises_along_y():
    """2 m up a slope of 60°: 1 m along, √3 m up (the half equilateral triangle)."""
    assert_allclose(
        to_site(GridFrame(slope_deg=60.0), [0.0, 2.0]), [0.0, 1.0, 3.0**0.5], atol=1e-15
    )


@pytest.mark.parametrize(
    ("lies", "direction", "turn_deg"),
    [
        ((35.0, 0.0), (0.0, 1.0, 0.0), 325.0),  # up is 35° east of north, so north lies left
        ((45.0, 45.0), (0.0, 1.0, 0.0), 305.26439),  # half as steep along y: tan 54.73561° = √2
        ((200.0, 90.0), (0.0, 0.0, 1.0), 0.0),
        ((200.0, -60.0), (0.0, 0.0, 1.0), 180.0),  # its y runs down
        ((0.0, 60.0), (1.0, 0.0, 0.0), 90.0),
    ],
)
def test_a_direction_of_the_site_as_it_falls_on_the_page(lies, direction, turn_deg):
    """By hand; and scipy's rotation of the page takes the direction to the same turn."""
    frame = GridFrame(bearing_deg=lies[0], slope_deg=lies[1])

    turn = turn_on_page_deg(frame, direction)

    assert turn == pytest.approx(turn_deg, abs=1e-5)
    page = Rotation.from_euler("xz", [lies[1], -lies[0]], degrees=True).inv().apply(direction)
    assert turn == pytest.approx(np.degrees(np.arctan2(page[0], page[1])) % 360, abs=1e-9)


@given(frame=frames, points=st.lists(st.tuples(metres, metres, metres), min_size=1, max_size=5))
def test_points_come_back_from_the_site(frame, points):
    there = to_site(frame, points)

    assert there.shape == (len(points), 3)
    assert_allclose(to_grid(frame, there), points, atol=1e-9)
    assert_allclose(to_site(frame, points[0]), there[0], atol=1e-9)


@given(frame=frames, one=st.tuples(metres, metres, metres), other=st.tuples(metres, metres, metres))
def test_distances_stay_as_they_are(frame, one, other):
    there = to_site(frame, [one, other])

    assert np.linalg.norm(there[1] - there[0]) == pytest.approx(
        np.linalg.norm(np.subtract(other, one)), abs=1e-9
    )


def test_a_point_off_the_plane_has_its_distance_as_w():
    assert to_grid(GridFrame(origin_z_m=-20.0), [3.0, 4.0, -19.6])[2] == pytest.approx(0.4)


@pytest.mark.parametrize(
    ("side_m", "point", "square"),
    [
        (1.0, (0.0, 0.0), (0, 0)),
        (1.0, (0.999, 1.0), (0, 1)),
        (1.0, (-0.001, -1.0), (-1, -1)),
        (2.0, (3.9, -0.1), (1, -1)),
        (0.1, (0.3, 0.7), (3, 7)),
        (0.1, (0.29, -0.3), (2, -3)),
    ],
)
def test_a_point_belongs_to_the_square_of_its_floor(side_m, point, square):
    assert square_at(GridFrame(side_m=side_m), *point) == square


@given(frame=frames, point=st.tuples(metres, metres))
def test_a_point_lies_in_its_square_and_comes_back_from_its_offsets(frame, point):
    square = square_at(frame, *point)
    offsets = offsets_in_square(frame, *square, *point)

    assert all(-1e-8 <= offset <= frame.side_m for offset in offsets)
    assert_allclose(point_from_offsets(frame, *square, *offsets), point, atol=1e-8)


@given(frame=frames, column=st.integers(-900, 900), row=st.integers(-900, 900))
def test_a_square_owns_its_nearest_corner_and_its_middle(frame, column, row):
    square = Square(column, row)
    around = corners(frame, column, row)

    assert square_at(frame, *around[0]) == square
    assert square_at(frame, *around.mean(axis=0)) == square
    assert square_at(frame, *around[2]) == Square(column + 1, row + 1)


def test_corners_run_counter_clockwise_from_the_nearest():
    assert corners(GridFrame(side_m=2.0), 3, -1).tolist() == [[6, -2], [8, -2], [8, 0], [6, 0]]


def test_offsets_may_be_asked_from_another_square():
    assert offsets_in_square(GridFrame(), 2, 2, 1.75, 3.25) == (-0.25, 1.25)


def test_many_points_find_their_squares_at_once():
    points = [[0.5, 0.5, 9.0], [-0.5, 7.25, 0.0]]

    assert squares_at(GridFrame(), points).tolist() == [[0, 0], [-1, 7]]
    assert to_site(GridFrame(), np.empty((0, 2))).shape == (0, 3)


def test_a_square_has_eight_neighbours_on_their_sides():
    around = neighbours(0, 0)

    assert len(set(around.values())) == 8
    assert around[Direction.UP] == (0, 1)
    assert around[Direction.DOWN_LEFT] == (-1, -1)
    assert all(neighbours(*square)[_opposite(side)] == (0, 0) for side, square in around.items())


def _opposite(direction):
    return Direction((-direction.value[0], -direction.value[1]))


def test_a_block_holds_every_square_between_two_corners_in_order():
    assert squares_in_block((1, -1), (0, 1)) == [(0, -1), (0, 0), (0, 1), (1, -1), (1, 0), (1, 1)]


@pytest.mark.parametrize(
    ("values", "code"),
    [
        ({"slope_deg": -90.0}, "slope"),
        ({"slope_deg": 90.5}, "slope"),
        ({"side_m": 0.0}, "side"),
        ({"side_m": -1.0}, "side"),
        ({"bearing_deg": float("nan")}, "not-finite"),
        ({"origin_z_m": float("inf")}, "not-finite"),
        ({"origin_e_m": 500_000.0}, "beyond-site"),
        ({"side_m": 0.5, "labels": LabelStyle(LabelKind.CORNER, "0", "0")}, "side-not-whole"),
    ],
)
def test_a_frame_that_cannot_be_is_refused_in_words(values, code):
    with pytest.raises(UnfitError) as refused:
        GridFrame(**values)

    assert refused.value.unfit.code == code
    assert str(refused.value).endswith(".")


@pytest.mark.parametrize(
    "points", [[1.0], [1.0, 2.0, 3.0, 4.0], 5.0, [[[0.0, 0.0]]], [0.0, float("nan")]]
)
def test_points_of_another_shape_are_a_wrong_call(points):
    with pytest.raises(ValueError, match="Points must"):
        to_site(GridFrame(), points)


def test_points_beyond_the_site_are_a_wrong_call():
    with pytest.raises(ValueError, match=r"beyond 50000\.0 m"):
        to_site(GridFrame(), [SITE_LIMIT_M + 1.0, 0.0])
    with pytest.raises(ValueError, match=r"beyond 50000\.0 m"):
        to_grid(GridFrame(), [0.0, -SITE_LIMIT_M - 1.0, 0.0])
