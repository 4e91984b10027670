"""Placements from marks, against values and estimators from outside the project."""

import cv2
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from scipy.optimize import least_squares
from skimage.transform import ProjectiveTransform

from survey.errors import Unfit
from survey.grid import GridFrame
from survey.homography import homography_by_dlt
from survey.marks import place_by_marks, place_by_square_corners
from survey.placement import picture_outline, to_plane
from tests.survey.pinhole import HEIGHT_PX, WIDTH_PX, Pinhole, cameras

SIZE = (WIDTH_PX, HEIGHT_PX)
SQUARE = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]])
CROSSINGS = np.array([[x, y] for y in (0.0, 0.4, 1.0) for x in (0.0, 0.6, 1.0)])
THREE_ON_A_LINE = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.5, 0.5]])
ALL_BUT_ONE = np.array([[0.0, 0.0], [0.3, 0.3], [0.7, 0.7], [1.0, 1.0], [0.0, 1.0]])
# Marks in the near part of a picture tilted by much: its upper part looks into the distance.
NEAR = np.array([[300.0, 1900.0], [2700.0, 1900.0], [2200.0, 1300.0], [800.0, 1300.0]])
OVER_SQUARE = Pinhole(0.5, 0.5, 1.6, tilt_deg=8.0, tilt_toward_deg=30.0, turn_deg=12.0)

# Computed with OpenCV, scikit-image and Heckbert's closed form, which agree to nine digits:
# a frame 1000 mm square in a picture, its corners clockwise from the upper left.
WORKED_PICTURE = np.array([[412, 318], [2610, 275], [2785, 2402], [333, 2530]], float)
WORKED_PLANE = np.array([[0, 0], [1000, 0], [1000, 1000], [0, 1000]], float)
WORKED_H = [
    [0.445484054, 0.0159101448, -188.598856],
    [0.0100119114, 0.511771658, -166.868295],
    [-1.39001510e-5, 5.37062124e-5, 1.0],
]


def _noisy(camera, plane, sigma_px, seed):
    return camera.picture(plane) + np.random.default_rng(seed).normal(0, sigma_px, plane.shape)


def test_the_worked_homography_comes_out_to_nine_digits():
    h = homography_by_dlt(WORKED_PICTURE, WORKED_PLANE)
    mapped = h @ [1500.0, 1400.0, 1.0]

    by_opencv = cv2.getPerspectiveTransform(np.float32(WORKED_PICTURE), np.float32(WORKED_PLANE))

    assert_allclose(h / h[2, 2], WORKED_H, rtol=5e-9)  # they are given to nine digits
    assert_allclose(h / h[2, 2], by_opencv, rtol=1e-12)
    assert_allclose(mapped[:2] / mapped[2], [476.0344, 535.5300], atol=5e-5)


def test_the_worked_marks_place_a_picture_with_y_up():
    """The same marks on a grid: y = 1000 − the worked example's, so that the plane is not
    mirrored."""
    plane = WORKED_PLANE * [1, -1] + [0, 1000]

    placed = place_by_marks(WORKED_PICTURE, plane, 3000, 2700)

    assert_allclose(to_plane(placed.placement, [1500, 1400]), [476.0344, 464.4700], atol=5e-5)


@given(
    camera=st.builds(
        Pinhole, height_m=st.floats(0.8, 3.0), tilt_deg=st.floats(0, 25), turn_deg=st.floats(0, 360)
    ),
    nudges=st.lists(st.integers(0, 400), min_size=8, max_size=8),
)
def test_four_marks_give_what_opencv_and_scikit_image_give(camera, nudges):
    """On whole px and mm: OpenCV multiplies its points in single precision, exact below 2²⁴."""
    near_corners = np.array([[0, 1600], [2600, 1600], [2600, 0], [0, 0]])
    picture = near_corners + np.reshape(nudges, (4, 2))
    plane = np.rint(1000 * _mapped(camera.px_to_plane, picture))
    outline = picture_outline(*SIZE)

    placed = place_by_marks(picture, plane, *SIZE)
    by_opencv = cv2.getPerspectiveTransform(np.float32(picture), np.float32(plane))
    by_scikit_image = ProjectiveTransform.from_estimate(picture, plane).params

    ours = to_plane(placed.placement, outline)
    assert_allclose(ours, _mapped(by_opencv, outline), rtol=1e-9, atol=1e-9)
    assert_allclose(ours, _mapped(by_scikit_image, outline), rtol=1e-9, atol=1e-9)


def _mapped(matrix, points):
    mapped = np.column_stack([points, np.ones(len(points))]) @ np.asarray(matrix, float).T
    return mapped[:, :2] / mapped[:, 2:]


@pytest.mark.parametrize("seed", range(5))
def test_the_linear_step_equals_scikit_image_for_many_marks(seed):
    picture = _noisy(OVER_SQUARE, CROSSINGS, 2.0, seed)

    ours = homography_by_dlt(picture, CROSSINGS)
    theirs = ProjectiveTransform.from_estimate(picture, CROSSINGS).params

    assert_allclose(ours / ours[2, 2], theirs / theirs[2, 2], rtol=1e-9)


@pytest.mark.parametrize("seed", range(5))
def test_many_marks_reach_the_least_squares_of_scipy(seed):
    picture = _noisy(OVER_SQUARE, CROSSINGS, 2.0, seed)

    placed = place_by_marks(picture, CROSSINGS, *SIZE)
    best = _by_scipy(picture, CROSSINGS)

    assert placed.degrees_of_freedom == 10
    assert placed.variance_px2 == pytest.approx(2 * best.cost / 10, rel=1e-9)
    assert_allclose(placed.residuals_px.T.ravel(), best.fun, atol=1e-5)
    assert placed.rms_px == pytest.approx(np.sqrt(2 * best.cost / 9), rel=1e-9)


def _by_scipy(picture, plane):
    """The same least squares by scipy's MINPACK, from OpenCV's solution."""

    def misfit(eight):
        mapped = np.column_stack([plane, np.ones(len(plane))]) @ np.append(eight, 1).reshape(3, 3).T
        return ((mapped[:, :2] / mapped[:, 2:]) - picture).T.ravel()

    start = cv2.findHomography(plane, picture)[0]
    eight = (start / start[2, 2]).ravel()[:8]
    tight = {"xtol": 1e-15, "ftol": 1e-15, "gtol": 1e-15}
    return least_squares(misfit, eight, x_scale=np.abs(eight), method="lm", **tight)


def test_many_marks_agree_with_opencv():
    plane = np.float32(CROSSINGS)
    picture = np.float32(_noisy(OVER_SQUARE, plane, 1.0, seed=9))
    outline = picture_outline(*SIZE)

    placed = place_by_marks(picture, plane, *SIZE)
    theirs = np.linalg.inv(cv2.findHomography(plane, picture)[0])

    assert_allclose(to_plane(placed.placement, outline), _mapped(theirs, outline), atol=1e-7)


@given(camera=cameras, count=st.integers(4, 9))
def test_exact_marks_come_back_without_residual(camera, count):
    order = [0, 2, 6, 8, 4, 1, 3, 5, 7][:count]
    plane = CROSSINGS[order] + [camera.x_m, camera.y_m]
    picture = camera.picture(plane)

    placed = place_by_marks(picture, plane, *SIZE)

    assert_allclose(to_plane(placed.placement, picture), plane, atol=1e-9)
    assert_allclose(placed.residuals_px, 0.0, atol=1e-6)
    assert placed.degrees_of_freedom == 2 * count - 8


def test_four_marks_leave_no_residual_and_say_so():
    placed = place_by_marks(_noisy(OVER_SQUARE, SQUARE, 30.0, 1), SQUARE, *SIZE)

    assert (placed.rms_px, placed.rms_m, placed.variance_px2) == (None, None, None)
    assert "no residual" in str(placed.caution)
    assert place_by_marks(OVER_SQUARE.picture(CROSSINGS), CROSSINGS, *SIZE).caution is None


def test_a_wrong_mark_among_nine_has_the_greatest_residual():
    picture = OVER_SQUARE.picture(CROSSINGS)
    picture[4] += [40.0, -25.0]

    placed = place_by_marks(picture, CROSSINGS, *SIZE)

    assert np.linalg.norm(placed.residuals_px, axis=1).argmax() == 4
    assert np.linalg.norm(placed.residuals_m, axis=1).argmax() == 4
    assert placed.rms_m == pytest.approx(np.sqrt((placed.residuals_m**2).sum() / 9))


@pytest.mark.slow
def test_the_variance_is_that_of_the_clicks():
    """1,000 runs at σ = 1.5 px: the mean of vᵀv/(2n − 8) is σ², within 4 standard errors of
    a χ² with 10 degrees of freedom: 4·σ²·√(2/10/1000)."""
    found = [
        place_by_marks(_noisy(OVER_SQUARE, CROSSINGS, 1.5, seed), CROSSINGS, *SIZE).variance_px2
        for seed in range(1000)
    ]

    assert np.mean(found) == pytest.approx(2.25, abs=4 * 2.25 * np.sqrt(2 / 10 / 1000))


@pytest.mark.parametrize("count", [6, 8])
def test_the_estimated_sigma_is_within_a_fifth_of_that_of_the_clicks(count):
    """Six and eight marks, 100 runs at σ = 1.5 px: σ̂ over the runs, σ̂² = vᵀv/(2n − 8)."""
    plane = np.concatenate([SQUARE, [[0.3, 0.4], [0.7, 0.6], [0.5, 0.1], [0.2, 0.8]]])[:count]
    found = [
        place_by_marks(_noisy(OVER_SQUARE, plane, 1.5, seed), plane, *SIZE).variance_px2
        for seed in range(100)
    ]

    assert np.sqrt(np.mean(found)) == pytest.approx(1.5, rel=0.2)


@pytest.mark.parametrize(
    ("picture", "plane", "code"),
    [
        (OVER_SQUARE.picture(SQUARE)[:3], SQUARE[:3], "too-few-marks"),
        (OVER_SQUARE.picture(SQUARE)[[0, 1, 2, 2]], SQUARE, "same-mark"),
        (OVER_SQUARE.picture(SQUARE), SQUARE[[0, 1, 2, 2]], "same-mark"),
        (OVER_SQUARE.picture(CROSSINGS[:4]), CROSSINGS[:4], "marks-on-a-line"),
        (OVER_SQUARE.picture(ALL_BUT_ONE), ALL_BUT_ONE, "marks-on-a-line"),
        (OVER_SQUARE.picture(THREE_ON_A_LINE), SQUARE, "marks-on-a-line"),
        (OVER_SQUARE.picture(SQUARE), THREE_ON_A_LINE, "marks-on-a-line"),
        (OVER_SQUARE.picture(SQUARE)[[0, 1, 3, 2]], SQUARE, "marks-crossed"),
        (OVER_SQUARE.picture(SQUARE)[[0, 3, 2, 1]], SQUARE, "marks-mirrored"),
        (OVER_SQUARE.picture(CROSSINGS)[::-1] * [-1, 1] + [3000, 0], CROSSINGS, "marks-mirrored"),
    ],
)
def test_marks_that_place_nothing_come_back_in_words(picture, plane, code):
    answer = place_by_marks(picture, plane, *SIZE)

    assert isinstance(answer, Unfit)
    assert answer.code == code
    assert str(answer).endswith(".")


def test_marks_turned_by_a_quarter_are_a_turned_picture():
    turned = place_by_marks(OVER_SQUARE.picture(SQUARE)[[1, 2, 3, 0]], SQUARE, *SIZE)

    assert not isinstance(turned, Unfit)


@pytest.mark.parametrize("tilt_deg", [71.2, 75.0])
def test_a_horizon_in_the_picture_comes_back_in_words(tilt_deg):
    """Half the field of view is 18.4°: tilted by 75° the upper edge looks past the horizon; by
    71.2°, 0.4° short of it, the far edge is drawn cos 89.6° / cos 52.8° = 1/87 as large."""
    camera = Pinhole(tilt_deg=tilt_deg, tilt_toward_deg=180.0)

    answer = place_by_marks(NEAR, _mapped(camera.px_to_plane, NEAR), *SIZE)

    assert isinstance(answer, Unfit)
    assert answer.code == "horizon-in-picture"


def test_a_steep_view_short_of_the_horizon_is_placed():
    camera = Pinhole(tilt_deg=65.0, tilt_toward_deg=180.0)

    placed = place_by_marks(NEAR, _mapped(camera.px_to_plane, NEAR), *SIZE)

    outline = picture_outline(*SIZE)
    assert_allclose(
        to_plane(placed.placement, outline), _mapped(camera.px_to_plane, outline), rtol=1e-9
    )


def test_square_corners_place_a_picture_on_that_square():
    frame = GridFrame(side_m=2.0)
    camera = Pinhole(7.0, -3.0, 5.0, tilt_deg=4.0)
    clicked = camera.picture(np.array([[6.0, -4.0], [8.0, -4.0], [8.0, -2.0], [6.0, -2.0]]))

    placed = place_by_square_corners(frame, 3, -2, clicked, *SIZE)

    assert_allclose(
        to_plane(placed.placement, camera.picture(np.array([[6.5, -3.25]]))[0]),
        [6.5, -3.25],
        atol=1e-9,
    )


def test_arrays_that_do_not_match_are_a_wrong_call():
    with pytest.raises(ValueError, match="pairs"):
        place_by_marks(SQUARE[:3] * 1000, SQUARE, *SIZE)
    with pytest.raises(ValueError, match="finite"):
        place_by_marks(SQUARE * np.nan, SQUARE, *SIZE)
