"""Distortion of points and pictures, and lenses from marks in one picture.

The model is checked against OpenCV's `projectPoints` and `undistortPoints`, homographies against
scikit-image in the tests of marks; scenes are drawn here with scipy's rotations (`pinhole`), some
through a lens with a term that no solver here has.
"""

import cv2
import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from survey.errors import Unfit
from survey.lens import (
    Lens,
    distort_points,
    greatest_shift_px,
    lens_normalised_by,
    lens_of_derivative,
    no_distortion,
    undistort_points,
    undistortion_maps,
)
from survey.lens_marks import MarkedLens, lens_from_marks
from survey.placement import to_plane
from tests.survey.pinhole import HEIGHT_PX, WIDTH_PX, Pinhole

BARREL = Lens(WIDTH_PX, HEIGHT_PX, 1490.0, 1012.0, 3000.0, -0.12, 0.02)
PINCUSHION = Lens(WIDTH_PX, HEIGHT_PX, 1499.5, 999.5, 3000.0, 0.15)
LENSES = [BARREL, PINCUSHION, no_distortion(WIDTH_PX, HEIGHT_PX)]
POINTS = np.random.default_rng(1).uniform((0, 0), (WIDTH_PX - 1, HEIGHT_PX - 1), (200, 2))


def inner(lens):
    """OpenCV's camera matrix and coefficients of a lens."""
    n, (u, v) = lens.norm_px, lens.centre
    return np.array([[n, 0, u], [0, n, v], [0, 0, 1]]), np.array([lens.k1, lens.k2, 0.0, 0.0])


@pytest.mark.parametrize("lens", LENSES)
def test_points_are_distorted_as_by_opencv(lens):
    camera, coefficients = inner(lens)
    rays = np.column_stack([(POINTS - lens.centre) / lens.norm_px, np.ones(len(POINTS))])
    theirs = cv2.projectPoints(rays, np.zeros(3), np.zeros(3), camera, coefficients)[0][:, 0]

    np.testing.assert_allclose(distort_points(lens, POINTS), theirs, atol=1e-9)


@pytest.mark.parametrize("lens", LENSES)
def test_points_are_freed_of_distortion_as_by_opencv(lens):
    camera, coefficients = inner(lens)
    until = (cv2.TERM_CRITERIA_COUNT | cv2.TERM_CRITERIA_EPS, 200, 1e-14)
    rays = cv2.undistortPoints(POINTS[:, None], camera, coefficients, criteria=until)[:, 0]
    theirs = lens.centre + lens.norm_px * rays

    np.testing.assert_allclose(undistort_points(lens, POINTS), theirs, atol=1e-6)


@given(st.floats(-0.1, 0.3), st.floats(-0.02, 0.05))
@example(0.0, 2.225073858507e-311)
def test_there_and_back(k1, k2):
    lens = Lens(WIDTH_PX, HEIGHT_PX, 1499.5, 999.5, 1803.0, k1, k2)

    np.testing.assert_allclose(
        distort_points(lens, undistort_points(lens, POINTS)), POINTS, atol=1e-6
    )


def test_one_point_and_the_centre():
    assert undistort_points(BARREL, (100.0, 100.0)).shape == (2,)
    np.testing.assert_allclose(undistort_points(BARREL, BARREL.centre), BARREL.centre)


def test_a_lens_that_folds_in_its_picture_is_refused():
    with pytest.raises(ValueError, match="folds"):
        Lens(WIDTH_PX, HEIGHT_PX, 1499.5, 999.5, 1803.0, -0.5)


def test_no_point_lies_beyond_the_fold():
    lens = Lens(WIDTH_PX, HEIGHT_PX, 1499.5, 999.5, 3000.0, -0.3)

    assert lens.fold == pytest.approx(np.sqrt(1 / 0.9))
    with pytest.raises(ValueError, match="fold"):
        distort_points(lens, (1499.5 + 1.06 * 3000, 999.5))
    with pytest.raises(ValueError, match="fold"):
        undistort_points(lens, (1499.5 + 0.75 * 3000, 999.5))
    u, _v = undistortion_maps(lens, np.diag([3.0, 3.0, 1.0]), WIDTH_PX, 2)
    assert u[0, -1] == -1e6


@pytest.mark.parametrize("wrong", [{"norm_px": 0.0}, {"k1": np.nan}, {"width_px": 0}])
def test_a_lens_that_cannot_be_is_a_wrong_call(wrong):
    given_ = {"width_px": 30, "height_px": 20, "centre_u_px": 14.5, "centre_v_px": 9.5}
    with pytest.raises(ValueError):
        Lens(**{**given_, "norm_px": 18.0, "k1": 0.0, **wrong})


def test_maps_look_up_where_a_pixel_was_taken():
    """As OpenCV's `initUndistortRectifyMap`, to the precision of its 32-bit numbers."""
    small = lens_of_derivative(BARREL, 10)
    camera, coefficients = inner(small)
    theirs = cv2.initUndistortRectifyMap(
        camera, coefficients, None, camera, (300, 200), cv2.CV_32FC1
    )
    ours = undistortion_maps(small, np.eye(3), 300, 200)

    np.testing.assert_allclose(ours[0], theirs[0], atol=1e-3)
    np.testing.assert_allclose(ours[1], theirs[1], atol=1e-3)


def test_a_derivative_bends_as_its_picture():
    small = lens_of_derivative(BARREL, 4)
    at = distort_points(BARREL, POINTS)

    np.testing.assert_allclose(
        distort_points(small, (POINTS + 0.5) / 4 - 0.5), (at + 0.5) / 4 - 0.5
    )


def test_the_length_may_be_another():
    other = lens_normalised_by(BARREL, 1803.0)

    assert other.k1 == pytest.approx(-0.12 * 0.601**2)
    np.testing.assert_allclose(distort_points(other, POINTS), distort_points(BARREL, POINTS))


def test_barrel_distortion_draws_corners_in():
    assert greatest_shift_px(PINCUSHION) > 0.0 > greatest_shift_px(BARREL)


CAMERA = Pinhole(x_m=0.1, y_m=-0.05, height_m=2.0, tilt_deg=4.0, tilt_toward_deg=30.0, turn_deg=10)
BAR = np.array([(x, y) for x in (-0.75, -0.25, 0.25, 0.75) for y in (-0.45, 0.0, 0.45)])
TRUE = Lens(WIDTH_PX, HEIGHT_PX, 1499.5, 999.5, 3000.0, -0.10)


def taken(plane, sigma_px=0.0, seed=0, k3=0.0):
    """Marks seen through the lens TRUE, and through a term in r⁶ that no solver here has."""
    points = CAMERA.picture(np.asarray(plane))
    q = (points - TRUE.centre) / 3000.0
    points = distort_points(TRUE, points) + 3000.0 * k3 * q * ((q**2).sum(1) ** 3)[:, None]
    return points + np.random.default_rng(seed).normal(0, sigma_px, points.shape)


def test_marks_at_several_radii_give_the_lens_and_the_placement():
    found = lens_from_marks(taken(BAR), BAR, WIDTH_PX, HEIGHT_PX)

    assert isinstance(found, MarkedLens)
    assert lens_normalised_by(found.lens, 3000.0).k1 == pytest.approx(-0.10, abs=1e-7)
    straight = to_plane(found.placement, CAMERA.picture(BAR))
    np.testing.assert_allclose(straight, BAR, atol=1e-7)
    assert found.rms_px < 1e-6
    assert found.degrees_of_freedom == 2 * 12 - 9
    assert found.caution is None


def test_noise_shows_in_the_residual_and_the_deviation_of_k1():
    every = [lens_from_marks(taken(BAR, 1.5, seed), BAR, WIDTH_PX, HEIGHT_PX) for seed in range(60)]
    k1 = [lens_normalised_by(one.lens, 3000.0).k1 for one in every]
    scale = (3000.0 / every[0].lens.norm_px) ** 2

    assert np.mean([one.variance_px2 for one in every]) == pytest.approx(1.5**2, rel=0.2)
    assert np.std(k1) == pytest.approx(scale * np.mean([one.sigma_k1 for one in every]), rel=0.35)
    assert np.mean(k1) == pytest.approx(-0.10, abs=0.005)


def test_a_term_that_the_model_lacks_stays_in_the_residual():
    bent = lens_from_marks(taken(BAR, k3=-0.6), BAR, WIDTH_PX, HEIGHT_PX)
    plain = lens_from_marks(taken(BAR), BAR, WIDTH_PX, HEIGHT_PX)

    assert bent.rms_px > 0.3 > plain.rms_px


RING = 0.5 * np.array(
    [(np.cos(a), np.sin(a)) for a in np.linspace(0, 2 * np.pi, 8, endpoint=False)]
)
UNFIT = {
    "four corners": (BAR[[0, 2, 9, 11]], "too-few-for-lens"),
    "eight on a ring": (RING, "marks-at-one-radius"),
    "three": (BAR[:3], "too-few-marks"),
}


@pytest.mark.parametrize(("plane", "code"), UNFIT.values(), ids=UNFIT)
def test_marks_that_cannot_tell_are_unfit(plane, code):
    above = Pinhole()
    found = lens_from_marks(
        distort_points(TRUE, above.picture(np.asarray(plane))), plane, WIDTH_PX, HEIGHT_PX
    )

    assert isinstance(found, Unfit)
    assert found.code == code
    assert str(found)


def test_marks_without_distortion_say_so():
    points = CAMERA.picture(BAR) + np.random.default_rng(3).normal(0, 1.0, BAR.shape)
    found = lens_from_marks(points, BAR, WIDTH_PX, HEIGHT_PX)

    assert found.caution is not None
    assert "no distortion" in str(found.caution)
