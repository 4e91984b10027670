"""Placements, outlines and windows through a lens.

Scenes are seen through OpenCV's `projectPoints` and `undistortPoints`, in one with a term in r⁶
that no solver here has; windows are checked against scikit-image's warp with an inverse map
written out here.
"""

import cv2
import numpy as np
import pytest
from skimage.measure import block_reduce
from skimage.transform import warp

from survey.errors import Unfit
from survey.lens import Lens
from survey.lens_marks import lens_from_marks
from survey.marks import place_by_marks
from survey.placement import (
    Placement,
    Pose,
    covered_outline,
    metres_a_pixel,
    pictured,
    placement_of_derivative,
    placement_on_grid,
    to_picture,
    to_plane,
)
from survey.rectify import Window, rectify
from survey.run_plan import base_footprint
from tests.survey.pinhole import HEIGHT_PX, WIDTH_PX, Pinhole

SIZE = WIDTH_PX, HEIGHT_PX
LENS = Lens(*SIZE, 1507.0, 990.0, 3000.0, -0.16, 0.03)
CAMERA = Pinhole(x_m=0.5, y_m=0.5, height_m=2.0, tilt_deg=4.0, tilt_toward_deg=30.0, turn_deg=10.0)
PLACED = Placement(CAMERA.px_to_plane.ravel(), LENS)
DISCS = np.array([[-0.3, 0.05], [0.2, 0.2], [0.8, 0.25], [0.5, 0.5], [1.3, 0.95], [1.25, 0.05]])
BAR = np.array([(x, y) for x in (-0.3, 0.1, 0.5, 0.9, 1.3) for y in (0.05, 0.5, 0.95)])
PLACES = np.random.default_rng(2).uniform((0, 0), (WIDTH_PX - 1, HEIGHT_PX - 1), (200, 2))


def inner(k3=0.0):
    n, (u, v) = LENS.norm_px, LENS.centre
    return np.array([[n, 0, u], [0, n, v], [0, 0, 1.0]]), np.array([LENS.k1, LENS.k2, 0, 0, k3])


def seen(plane, k3=0.0):
    """Points of the plane as the camera takes them."""
    camera, coefficients = inner(k3)
    rays = (CAMERA.picture(np.asarray(plane)) - LENS.centre) / LENS.norm_px
    rays = np.column_stack([rays, np.ones(len(rays))])
    return cv2.projectPoints(rays, np.zeros(3), np.zeros(3), camera, coefficients)[0][:, 0]


def photographed(k3=0.0):
    """White sand with black discs of 15 mm radius, each pixel the mean of 9 samples."""
    camera, coefficients = inner(k3)
    until = (cv2.TERM_CRITERIA_COUNT | cv2.TERM_CRITERIA_EPS, 50, 1e-10)
    picture = np.full((HEIGHT_PX, WIDTH_PX), 255, np.uint8)
    for disc, (u_0, v_0) in zip(DISCS, seen(DISCS, k3).astype(int), strict=True):
        part = np.s_[v_0 - 45 : v_0 + 46, u_0 - 45 : u_0 + 46]
        v, u = np.mgrid[part].astype(float)
        light = np.zeros_like(u)
        for du in (-1 / 3, 0, 1 / 3):
            for dv in (-1 / 3, 0, 1 / 3):
                at = np.stack([u + du, v + dv], axis=-1).reshape(-1, 1, 2)
                rays = cv2.undistortPoints(at, camera, coefficients, criteria=until)[:, 0]
                straight = LENS.centre + LENS.norm_px * rays
                mapped = np.column_stack([straight, np.ones(len(rays))]) @ CAMERA.px_to_plane.T
                x, y = (mapped[:, :2] / mapped[:, 2:] - disc).T
                light += (np.hypot(x, y) >= 0.015).reshape(u.shape)
        picture[part] = np.rint(255 * light / 9)
    return picture


def off_mm(picture, placement):
    """How far each disc stands from its place in a window round it at 1 mm a pixel, mm."""
    found = []
    for x, y in DISCS:
        drawn = rectify(picture, placement, Window(x - 0.04, y - 0.04, x + 0.04, y + 0.04, 1.0))
        assert drawn.covered.all()
        dark = 255.0 - drawn.image
        rows, columns = np.indices(dark.shape) - 39.5
        found.append(np.hypot((columns * dark).sum(), (rows * dark).sum()) / dark.sum())
    return np.array(found)


def test_features_of_a_made_square_lie_within_2_mm_through_the_lens():
    """Exact marks; with the lens as it is they lie within a tenth of the goal, without it far
    beyond it."""
    picture, marks = photographed(), seen(BAR)
    through = place_by_marks(marks, BAR, *SIZE, LENS)
    without = place_by_marks(marks, BAR, *SIZE)

    assert through.rms_px < 1e-6
    assert off_mm(picture, through.placement).max() < 0.2
    assert without.rms_px > 5.0
    assert off_mm(picture, without.placement).max() > 4.0


def test_within_2_mm_too_with_a_lens_found_from_marks_that_lacks_a_term():
    picture, marks = photographed(k3=0.02), seen(BAR, k3=0.02)
    found = lens_from_marks(marks, BAR, *SIZE)
    placed = place_by_marks(marks, BAR, *SIZE, found.lens)

    assert found.rms_px > 0.05  # the term that is lacking shows
    assert off_mm(picture, placed.placement).max() < 2.0


def test_noise_of_the_marks_shows_in_an_honest_residual_through_the_lens():
    """σ = 1.5 px on 15 marks, σ̂² = vᵀv/(2n − 8): within 10 % over 100 trials."""
    rng, marks = np.random.default_rng(5), seen(BAR)
    noisy = [marks + rng.normal(0, 1.5, marks.shape) for _ in range(100)]
    variances = [place_by_marks(one, BAR, *SIZE, LENS).variance_px2 for one in noisy]

    assert np.sqrt(np.mean(variances)) == pytest.approx(1.5, rel=0.1)


def inverse_map(window):
    """Where a raster's pixels (column, row) are found in the picture, written out for itself."""
    n, camera = window.mm_a_pixel / 1000, inner()[0]

    def of(places):
        x, y = window.x_min_m + (places[:, 0] + 0.5) * n, window.y_max_m - (places[:, 1] + 0.5) * n
        straight = np.column_stack([x, y, np.ones(len(x))]) @ CAMERA.plane_to_px.T
        u, v = ((straight[:, :2] / straight[:, 2:] - camera[:2, 2]) / camera[0, 0]).T
        stretch = 1 - 0.16 * (u * u + v * v) + 0.03 * (u * u + v * v) ** 2
        return np.stack([u * stretch, v * stretch], 1) * camera[0, 0] + camera[:2, 2]

    return of


def test_enlarging_through_the_lens_agrees_with_scikit_image():
    """Near the picture's corner, where the lens bends most; OpenCV looks up to 1/32 px."""
    coarse = np.random.default_rng(3).integers(0, 256, (HEIGHT_PX // 40, WIDTH_PX // 40))
    picture = np.uint8(np.kron(coarse, np.ones((40, 40))))
    window = Window(1.2, 0.0, 1.3, 0.1, 0.2)

    drawn = rectify(picture, PLACED, window)
    shape = drawn.covered.shape
    theirs = warp(picture.astype(float), inverse_map(window), output_shape=shape, order=1)

    assert drawn.covered.all()
    assert np.abs(drawn.image - theirs).max() <= 255 / 32 + 1
    assert np.abs(drawn.image - theirs).mean() < 0.3


def test_reducing_through_the_lens_is_area_true_by_a_dense_warp_of_scikit_image():
    """Pure noise at 4 mm a pixel: the mean of 12 × 12 samples each, which single ones miss."""
    picture = np.random.default_rng(4).integers(0, 256, (HEIGHT_PX, WIDTH_PX), dtype=np.uint8)
    window, dense = Window(1.0, 0.1, 1.2, 0.3, 4.0), Window(1.0, 0.1, 1.2, 0.3, 1 / 3)

    drawn = rectify(picture, PLACED, window)
    fine = warp(picture.astype(float), inverse_map(dense), output_shape=(600, 600), order=1)
    theirs = block_reduce(fine, (12, 12), np.mean)

    assert np.sqrt(((drawn.image - theirs) ** 2).mean()) < 2.0
    assert np.sqrt(((fine[6::12, 6::12] - theirs) ** 2).mean()) > 30


def test_the_mask_is_what_the_lens_shows():
    window = Window(-1.0, -0.8, 2.0, 1.8, 10.0)
    small = placement_of_derivative(PLACED, 10.0, 10.0)
    drawn = rectify(np.full((200, 300), 90, np.uint8), small, window)
    v, u = np.indices(drawn.covered.shape)
    at = inverse_map(window)(np.stack([u.ravel(), v.ravel()], 1)).reshape(*u.shape, 2)
    inside = ((at >= -0.5) & (at <= np.array(SIZE) - 0.5)).all(axis=2)

    np.testing.assert_array_equal(drawn.covered, inside)
    x, y = covered_outline(PLACED, *SIZE).T
    area_m2 = 0.5 * abs(x @ np.roll(y, 1) - y @ np.roll(x, 1))
    assert area_m2 == pytest.approx(inside.sum() * 1e-4, rel=2e-3)


def test_points_go_there_and_back_and_stand_where_opencv_sees_them():
    np.testing.assert_allclose(to_picture(PLACED, BAR), seen(BAR), atol=1e-6)
    np.testing.assert_allclose(to_plane(PLACED, seen(BAR)), BAR, atol=1e-9)
    far = pictured(PLACED, np.array([[0.5, 0.5], [500.0, 0.0]]))
    assert np.isfinite(far[0]).all()
    assert np.isinf(far[1]).all()


def test_a_pixel_covers_what_steps_beside_it_cover():
    step = 0.01
    beside = [
        to_plane(PLACED, PLACES + move) for move in ([step, 0], [-step, 0], [0, step], [0, -step])
    ]
    a, b = (beside[0] - beside[1]) / (2 * step), (beside[2] - beside[3]) / (2 * step)
    area = np.abs(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0])

    np.testing.assert_allclose(metres_a_pixel(PLACED, PLACES), np.sqrt(area), rtol=1e-6)


def test_a_derivative_and_a_station_keep_the_lens():
    k_u, k_v = WIDTH_PX / 1600, HEIGHT_PX / 1067  # as a picture for the screen is rounded
    small = placement_of_derivative(PLACED, k_u, k_v)
    shrunk = (PLACES + 0.5) / (k_u, k_v) - 0.5
    np.testing.assert_allclose(to_plane(small, shrunk), to_plane(PLACED, PLACES), atol=1e-9)
    assert (small.lens.width_px, small.lens.height_px) == (1600, 1067)

    moved = to_plane(placement_on_grid(PLACED, Pose(3.0, -1.0, 90.0)), PLACES)
    x, y = to_plane(PLACED, PLACES).T
    np.testing.assert_allclose(moved, np.stack([3.0 - y, -1.0 + x], 1), atol=1e-9)


def test_the_rectangle_that_every_picture_covers_lies_within_bent_sides():
    level = Placement(
        Pinhole(height_m=2.0).px_to_plane.ravel(), Lens(*SIZE, 1499.5, 999.5, 3000.0, 0.1)
    )
    held = base_footprint(covered_outline(level, *SIZE))
    x, y = covered_outline(level, *SIZE, points_a_side=200).T

    assert not ((np.abs(x) < held.x_m / 2 - 1e-3) & (np.abs(y) < held.y_m / 2 - 1e-3)).any()
    assert abs(held.middle_x_m) < 1e-3
    straight = base_footprint(covered_outline(Placement(level.h), *SIZE))
    assert 0.9 * straight.x_m < held.x_m < straight.x_m


def test_marks_and_lens_must_belong_together():
    with pytest.raises(ValueError, match="A lens for 100"):
        place_by_marks(seen(BAR), BAR, 100, 100, LENS)
    folding = Lens(*SIZE, 1499.5, 999.5, 3000.0, -0.3)
    beyond = np.vstack([seen(BAR)[:4], [9000.0, 1000.0]])
    found = place_by_marks(beyond, np.vstack([BAR[:4], [4.0, 0.5]]), *SIZE, folding)
    assert isinstance(found, Unfit)
    assert found.code in {"beyond-the-lens", "marks-on-a-line"}
