"""Placements: applied, composed, scaled; against OpenCV, scikit-image and hand examples."""

import cv2
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from skimage.transform import AffineTransform

from survey.placement import (
    Placement,
    Pose,
    covered_outline,
    metres_a_pixel,
    picture_outline,
    placement_of_derivative,
    placement_of_footprint,
    placement_on_grid,
    to_picture,
    to_plane,
)
from tests.survey.pinhole import HEIGHT_PX, WIDTH_PX, Pinhole, cameras

SIZE = (WIDTH_PX, HEIGHT_PX)


def _placement(camera):
    return Placement(camera.px_to_plane.ravel().tolist())


@given(camera=cameras, u=st.floats(-0.5, WIDTH_PX - 0.5), v=st.floats(-0.5, HEIGHT_PX - 0.5))
def test_a_pixel_comes_back_from_the_plane(camera, u, v):
    placement = _placement(camera)
    plane = to_plane(placement, [u, v])

    assert_allclose(camera.picture(plane[None])[0], [u, v], atol=1e-6)
    assert_allclose(to_picture(placement, plane), [u, v], atol=1e-6)


@given(camera=cameras)
def test_points_map_as_opencv_maps_them(camera):
    points = picture_outline(*SIZE, points_a_side=5)

    theirs = cv2.perspectiveTransform(points[:, None], camera.px_to_plane)[:, 0]

    assert_allclose(to_plane(_placement(camera), points), theirs, rtol=1e-9, atol=1e-12)


def test_a_footprint_is_covered_from_edge_to_edge():
    """1.5 × 1.0 m on 3000 × 2000 px: half a millimetre a pixel, first centre 0.25 mm inside."""
    placement = placement_of_footprint(1.5, 1.0, *SIZE)

    assert_allclose(to_plane(placement, [0, 0]), [-0.74975, 0.49975], atol=1e-15)
    assert_allclose(to_plane(placement, [1499.5, 999.5]), [0.0, 0.0], atol=1e-15)
    assert_allclose(
        covered_outline(placement, *SIZE),
        [[-0.75, -0.5], [0.75, -0.5], [0.75, 0.5], [-0.75, 0.5]],
        atol=1e-15,
    )
    assert metres_a_pixel(placement, [700.0, 3.0]) == pytest.approx(0.0005)


def test_a_turned_footprint_turns_counter_clockwise():
    """A quarter turn: the picture's upper edge, which looked to +y, looks to −x."""
    placement = placement_of_footprint(1.5, 1.0, *SIZE, turn_deg=90.0)

    assert_allclose(to_plane(placement, [1499.5, -0.5]), [-0.5, 0.0], atol=1e-12)


def test_a_station_carries_its_set_up_onto_the_grid():
    """By hand: base point (0.75, 0.5) turned a quarter left is (−0.5, 0.75), then moved."""
    set_up = placement_of_footprint(1.5, 1.0, *SIZE)
    pose = Pose(10.0, 20.0, 90.0, foot_offset_x_m=0.03, foot_offset_y_m=-0.02)

    placed = placement_on_grid(set_up, pose)

    assert_allclose(to_plane(placed, [WIDTH_PX - 0.5, -0.5]), [9.53, 20.73], atol=1e-12)


@given(
    camera=cameras, turn_deg=st.floats(-360.0, 360.0), x=st.floats(-50, 50), y=st.floats(-50, 50)
)
def test_a_station_is_a_rigid_motion_by_scikit_image(camera, turn_deg, x, y):
    motion = AffineTransform(rotation=np.radians(turn_deg), translation=(x, y))
    base = _placement(camera)
    outline = picture_outline(*SIZE)

    placed = placement_on_grid(base, Pose(x, y, turn_deg))

    assert_allclose(to_plane(placed, outline), motion(to_plane(base, outline)), atol=1e-9)


@pytest.mark.parametrize(("k_u", "k_v"), [(2.0, 2.0), (4.0, 4.0), (8.0, 8.0), (3.0, 2.5)])
def test_a_derivative_covers_what_its_picture_covers(k_u, k_v):
    full = _placement(Pinhole(tilt_deg=10.0, turn_deg=30.0))

    small = placement_of_derivative(full, k_u, k_v)
    outline = picture_outline(*SIZE)
    reduced = (outline + 0.5) / [k_u, k_v] - 0.5

    assert_allclose(to_plane(small, reduced), to_plane(full, outline), atol=1e-12)
    assert_allclose(placement_of_derivative(small, 1 / k_u, 1 / k_v).h, full.h, rtol=1e-12)


def test_a_reduced_decode_by_opencv_keeps_its_features_where_the_table_says():
    """A white block in a JPEG: its centre of brightness in OpenCV's reduced decode, ÷ 2, 4, 8."""
    picture = np.zeros((256, 384), np.uint8)
    picture[96:128, 160:240] = 255
    stored = cv2.imencode(".jpg", picture, [cv2.IMWRITE_JPEG_QUALITY, 100])[1]
    full_centre = np.array([199.5, 111.5])

    for k, flag in [
        (2, cv2.IMREAD_REDUCED_GRAYSCALE_2),
        (4, cv2.IMREAD_REDUCED_GRAYSCALE_4),
        (8, cv2.IMREAD_REDUCED_GRAYSCALE_8),
    ]:
        small = cv2.imdecode(stored, flag).astype(float)
        v, u = np.indices(small.shape)
        centre = np.array([(small * u).sum(), (small * v).sum()]) / small.sum()
        same = placement_of_footprint(3.84, 2.56, 384, 256)
        assert_allclose(
            to_plane(placement_of_derivative(same, k, k), centre),
            to_plane(same, full_centre),
            atol=0.001,
        )


def test_a_denser_outline_lies_on_the_same_edge():
    camera = Pinhole(tilt_deg=15.0)
    coarse = covered_outline(_placement(camera), *SIZE)
    dense = covered_outline(_placement(camera), *SIZE, points_a_side=4)

    assert_allclose(dense[::4], coarse)
    one, other, between = coarse[0], coarse[1], dense[1]
    along, across = other - one, between - one
    assert along[0] * across[1] - along[1] * across[0] == pytest.approx(0.0, abs=1e-12)


@given(camera=cameras)
def test_the_outline_runs_counter_clockwise_on_the_plane(camera):
    x, y = covered_outline(_placement(camera), *SIZE).T

    assert (x * np.roll(y, -1) - y * np.roll(x, -1)).sum() > 0


@given(camera=cameras)
def test_the_ground_pixel_is_the_root_of_the_jacobian(camera):
    placement = _placement(camera)
    step = 0.01
    near = to_plane(
        placement, [[1000 - step, 700], [1000 + step, 700], [1000, 700 - step], [1000, 700 + step]]
    )
    across, down = (near[1] - near[0]) / (2 * step), (near[3] - near[2]) / (2 * step)

    area = abs(across[0] * down[1] - across[1] * down[0])

    assert metres_a_pixel(placement, [1000, 700]) == pytest.approx(np.sqrt(area), rel=1e-6)


def test_beyond_the_horizon_there_is_no_place():
    steep = _placement(Pinhole(tilt_deg=80.0))

    with pytest.raises(ValueError, match="horizon"):
        to_plane(steep, [[1500.0, 100.0], [1500.0, 1900.0]])
    with pytest.raises(ValueError, match="horizon"):
        covered_outline(steep, *SIZE)


@pytest.mark.parametrize(
    "h",
    [
        (1.0,) * 8,
        (1.0, 0, 0, 0, 1, 0, 0, 0, float("nan")),
        (1.0, 0, 0, 0, 1, 0, 0, 0, 0),
        (1.0, 2, 3, 2, 4, 6, 0, 0, 1),
    ],
)
def test_numbers_that_are_no_placement_are_a_wrong_call(h):
    with pytest.raises(ValueError, match="A placement"):
        Placement(h)


@pytest.mark.parametrize(
    "call",
    [
        lambda: placement_of_footprint(0.0, 1.0, 100, 100),
        lambda: placement_of_footprint(1.0, float("inf"), 100, 100),
        lambda: placement_of_footprint(1.0, 1.0, 0, 100),
        lambda: Pose(float("nan"), 0.0),
        lambda: placement_of_derivative(placement_of_footprint(1, 1, 9, 9), 0.0, 2.0),
        lambda: picture_outline(10, 10, points_a_side=0),
        lambda: picture_outline(10, -1),
        lambda: to_plane(placement_of_footprint(1, 1, 9, 9), [1.0, 2.0, 3.0]),
    ],
)
def test_other_wrong_calls_raise(call):
    with pytest.raises(ValueError, match="not "):
        call()


def test_a_placement_is_stored_as_nine_numbers_and_comes_back():
    placement = _placement(Pinhole(tilt_deg=5.0))

    assert Placement(list(placement.h)) == placement
    assert placement.h[8] == 1.0
    assert Placement([2 * number for number in placement.h]) == placement
