"""Windows of the grid drawn from pictures: exact places, areas kept, against scikit-image."""

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal
from skimage.measure import block_reduce
from skimage.transform import ProjectiveTransform, warp

from survey import rectify as rectify_module
from survey.placement import (
    Placement,
    covered_outline,
    placement_of_derivative,
    placement_of_footprint,
)
from survey.rectify import Piece, Window, rectify, rectify_together
from tests.survey.pinhole import HEIGHT_PX, WIDTH_PX, Pinhole

TILTED = Pinhole(0.5, 0.5, 1.1, tilt_deg=3.0, tilt_toward_deg=40.0, turn_deg=25.0, focal_px=2000.0)
FEATURES = np.array([[0.2, 0.2], [0.8, 0.25], [0.5, 0.5], [0.3, 0.75], [0.75, 0.7]])
SQUARE_MM = {n: Window(0.0, 0.0, 1.0, 1.0, n) for n in (0.25, 1.0, 2.0, 4.0)}


def _placement(camera):
    return Placement(camera.px_to_plane.ravel())


def _on_plane(camera, u, v):
    mapped = np.stack([u, v, np.ones_like(u)], axis=-1) @ camera.px_to_plane.T
    return mapped[..., 0] / mapped[..., 2], mapped[..., 1] / mapped[..., 2]


def _photographed(camera):
    """White sand with five black discs of 15 mm radius as a camera takes them: each pixel the
    mean of 16 samples. Away from the discs all is white."""
    picture = np.full((HEIGHT_PX, WIDTH_PX), 255, np.uint8)
    steps = (np.arange(4) + 0.5) / 4 - 0.5
    for feature, (u_0, v_0) in zip(FEATURES, camera.picture(FEATURES).astype(int), strict=True):
        part = np.s_[v_0 - 60 : v_0 + 61, u_0 - 60 : u_0 + 61]
        v, u = np.mgrid[part].astype(float)
        light = np.zeros_like(u)
        for du in steps:
            for dv in steps:
                x, y = _on_plane(camera, u + du, v + dv)
                light += np.hypot(x - feature[0], y - feature[1]) >= 0.015
        picture[part] = np.rint(255 * light / 16)
    return picture


def _centres(drawn, window):
    """Where the discs stand in a drawn window, m: centres of darkness within 40 mm."""
    n = window.mm_a_pixel / 1000
    v, u = np.indices(drawn.covered.shape)
    x, y = window.x_min_m + (u + 0.5) * n, window.y_max_m - (v + 0.5) * n
    dark = 255.0 - drawn.image
    near = [np.where(np.hypot(x - fx, y - fy) < 0.04, dark, 0) for fx, fy in FEATURES]
    return np.array([[(d * x).sum() / d.sum(), (d * y).sum() / d.sum()] for d in near])


def _raster_to_picture(camera, window):
    n = window.mm_a_pixel / 1000
    raster = [[n, 0, window.x_min_m + n / 2], [0, -n, window.y_max_m - n / 2], [0, 0, 1]]
    return ProjectiveTransform(matrix=camera.plane_to_px @ np.array(raster))


@pytest.fixture(scope="module")
def discs():
    return _photographed(TILTED)


@pytest.mark.parametrize("n", [1.0, 2.0, 4.0])
def test_features_of_a_tilted_picture_land_within_half_a_pixel(discs, n):
    drawn = rectify(discs, _placement(TILTED), SQUARE_MM[n])

    assert np.abs(_centres(drawn, SQUARE_MM[n]) - FEATURES).max() < 0.5 * n / 1000
    assert np.abs(_centres(drawn, SQUARE_MM[n]) - FEATURES).max() < 0.00025


@pytest.mark.parametrize("k", [2, 4])
def test_features_land_at_the_same_place_from_a_reduced_picture(discs, k):
    reduced = np.uint8(np.rint(block_reduce(discs, (k, k), np.mean)))

    drawn = rectify(reduced, placement_of_derivative(_placement(TILTED), k, k), SQUARE_MM[2.0])

    assert np.abs(_centres(drawn, SQUARE_MM[2.0]) - FEATURES).max() < 0.0005


@pytest.mark.parametrize("n", [1.0, 4.0])
def test_areas_stay_as_they_are(discs, n):
    """Five discs of 15 mm radius: π·15²·5 = 3,534 mm² of darkness."""
    drawn = rectify(discs, _placement(TILTED), SQUARE_MM[n])

    area_mm2 = (255.0 - drawn.image[drawn.covered]).sum() / 255 * n**2

    assert area_mm2 == pytest.approx(5 * np.pi * 15**2, rel=0.01)


def test_pixel_for_pixel_nothing_changes():
    picture = np.random.default_rng(1).integers(0, 256, (60, 80, 3), dtype=np.uint8)

    drawn = rectify(
        picture, placement_of_footprint(0.8, 0.6, 80, 60), Window(-0.4, -0.3, 0.4, 0.3, 10)
    )

    assert_array_equal(drawn.image, picture)
    assert drawn.covered.all()


@pytest.mark.parametrize("factor", [2, 3, 5])
def test_a_coarser_raster_shows_the_mean_of_its_pixels(factor):
    picture = np.random.default_rng(2).integers(0, 256, (60, 90), dtype=np.uint8)
    window = Window(-0.45, -0.3, 0.45, 0.3, 10 * factor)

    drawn = rectify(picture, placement_of_footprint(0.9, 0.6, 90, 60), window)

    means = block_reduce(picture.astype(float), (factor, factor), np.mean)
    assert np.abs(drawn.image - means).max() <= 1.0


def test_enlarging_agrees_with_scikit_image():
    """Bilinear both; ours in steps of 1/32 px, so up to 1/64 of the steepest slope apart."""
    rng = np.random.default_rng(3)
    coarse = rng.integers(0, 256, (HEIGHT_PX // 40, WIDTH_PX // 40)).astype(float)
    picture = np.uint8(np.kron(coarse, np.ones((40, 40))))
    window = Window(0.45, 0.45, 0.55, 0.55, 0.2)

    drawn = rectify(picture, _placement(TILTED), window)
    theirs = warp(
        picture.astype(float),
        _raster_to_picture(TILTED, window),
        output_shape=drawn.covered.shape,
        order=1,
        mode="edge",
    )

    assert drawn.covered.all()
    assert np.abs(drawn.image - theirs).max() <= 255 / 32 + 1
    assert np.abs(drawn.image - theirs).mean() < 0.3


def test_reducing_agrees_with_a_dense_warp_by_scikit_image():
    """Pure noise at 4 mm a pixel (7 picture pixels): the mean of 16 × 16 samples each. Single
    samples, as a plain warp takes them, are far off: so the check can fail."""
    picture = np.random.default_rng(4).integers(0, 256, (HEIGHT_PX, WIDTH_PX), dtype=np.uint8)
    window, dense = Window(0.3, 0.3, 0.7, 0.7, 4.0), Window(0.3, 0.3, 0.7, 0.7, 0.25)

    drawn = rectify(picture, _placement(TILTED), window)
    fine = warp(
        picture.astype(float),
        _raster_to_picture(TILTED, dense),
        output_shape=(1600, 1600),
        order=1,
        mode="edge",
    )
    theirs = block_reduce(fine, (16, 16), np.mean)
    single = fine[8::16, 8::16]

    assert np.sqrt(((drawn.image - theirs) ** 2).mean()) < 1.5
    assert np.sqrt(((single - theirs) ** 2).mean()) > 30


@pytest.mark.parametrize("turn_deg", [0.0, 10.0, 45.0])
def test_fine_stripes_turn_grey_and_not_into_other_stripes(turn_deg):
    camera = Pinhole(0.5, 0.5, 1.1, turn_deg=turn_deg, focal_px=2000.0)
    picture = np.zeros((HEIGHT_PX, WIDTH_PX), np.uint8)
    picture[:, ::2] = 255

    drawn = rectify(picture, _placement(camera), Window(0.2, 0.2, 0.8, 0.8, 5.0))

    assert np.abs(drawn.image[drawn.covered] - 127.5).max() < 20


def test_the_mask_is_the_picture_and_outside_is_nothing():
    window = Window(-0.5, -0.5, 1.5, 1.5, 10.0)
    picture = np.full((HEIGHT_PX, WIDTH_PX, 3), 200, np.uint8)

    drawn = rectify(picture, _placement(TILTED), window)

    v, u = np.indices((200, 200))
    x, y = -0.5 + (u + 0.5) / 100, 1.5 - (v + 0.5) / 100
    inside = np.ones((200, 200), bool)
    outline = covered_outline(_placement(TILTED), WIDTH_PX, HEIGHT_PX)
    for (ax, ay), (bx, by) in zip(outline, np.roll(outline, -1, axis=0), strict=True):
        inside &= (bx - ax) * (y - ay) - (by - ay) * (x - ax) >= 0
    assert_array_equal(drawn.covered, inside)
    assert 0 < inside.mean() < 1
    assert (drawn.image[inside] == 200).all()
    assert (drawn.image[~inside] == 0).all()


def test_the_mask_reaches_to_the_outer_edge_of_the_first_and_last_pixel():
    """10 × 10 px of 10 mm, drawn at 1 mm: 100 × 100 px, in the middle of 200 × 200."""
    picture = np.full((10, 10), 200, np.uint8)

    drawn = rectify(
        picture, placement_of_footprint(0.1, 0.1, 10, 10), Window(-0.1, -0.1, 0.1, 0.1, 1)
    )

    wanted = np.zeros((200, 200), bool)
    wanted[50:150, 50:150] = True
    assert_array_equal(drawn.covered, wanted)
    assert_array_equal(drawn.image, 200 * wanted)


def test_a_window_beside_the_picture_shows_nothing():
    picture = np.full((60, 80), 200, np.uint8)

    drawn = rectify(picture, placement_of_footprint(0.8, 0.6, 80, 60), Window(5, 5, 6, 6, 10))

    assert drawn.image.shape == (100, 100)
    assert not drawn.image.any()
    assert not drawn.covered.any()


def test_a_window_reaching_beyond_the_horizon_shows_only_what_is_before_it():
    steep = Pinhole(tilt_deg=60.0, tilt_toward_deg=180.0)
    picture = np.full((HEIGHT_PX, WIDTH_PX), 90, np.uint8)

    drawn = rectify(picture, _placement(steep), Window(-20, -20, 20, 20, 100.0))

    assert 0.0 < drawn.covered.mean() < 0.5
    assert set(np.unique(drawn.image)) == {0, 90}


def test_the_size_of_the_blocks_does_not_show(discs, monkeypatch):
    whole = rectify(discs, _placement(TILTED), SQUARE_MM[4.0])
    monkeypatch.setattr(rectify_module, "_BLOCK_PX", 100)
    in_blocks = rectify(discs, _placement(TILTED), SQUARE_MM[4.0])

    assert_array_equal(whole.covered, in_blocks.covered)
    assert np.abs(whole.image.astype(int) - in_blocks.image).max() <= 2


def test_several_pictures_fill_one_window_each_in_its_own_part():
    """Two drawings of neighbouring squares, each seen only in its own; between them no gap."""
    frame = placement_of_footprint(1.2, 1.2, 120, 120)
    shift = np.array([[1.0, 0.0, 0.5], [0.0, 1.0, 0.5], [0.0, 0.0, 1.0]])
    next_to = np.array([[1.0, 0.0, 1.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]])
    west = Placement((shift @ frame.matrix).ravel())
    east = Placement((next_to @ shift @ frame.matrix).ravel())
    pieces = (
        Piece(np.full((120, 120), shade, np.uint8), placement, only)
        for shade, placement, only in [(50, west, (0, 0, 1, 1)), (150, east, (1, 0, 2, 1))]
    )

    drawn = rectify_together(pieces, Window(-0.5, 0.0, 2.5, 1.0, 10.0))

    row = drawn.image[50]
    assert (row[:50] == 0).all()
    assert (row[50:150] == 50).all()
    assert (row[150:250] == 150).all()
    assert (row[250:] == 0).all()


def test_a_window_counts_its_pixels():
    window = Window(0.0, 0.0, 0.3, 0.1, 0.1)

    assert (window.width_px, window.height_px) == (3000, 1000)
    assert Window(0.0, 0.0, 1.0, 1.0, 300.0).width_px == 4
    assert_allclose(window.raster_to_grid @ [0, 0, 1], [0.00005, 0.09995, 1])


@pytest.mark.parametrize(
    "bounds",
    [
        (0, 0, 0, 1, 1),
        (1, 0, 0, 1, 1),
        (0, 0, 1, 1, 0),
        (0, 0, 1, 1, -1),
        (0, 0, 1, float("inf"), 1),
        (0, 0, 1, 1, 0.01),
    ],
)
def test_a_window_that_cannot_be_is_a_wrong_call(bounds):
    with pytest.raises(ValueError, match="not "):
        Window(*bounds)


@pytest.mark.parametrize(
    "picture",
    [
        np.zeros((4, 4), float),
        np.zeros(4, np.uint8),
        np.zeros((0, 4), np.uint8),
        np.zeros((4, 4, 5), np.uint8),
        np.zeros((1, 40_000), np.uint8),
    ],
)
def test_an_array_that_is_no_picture_is_a_wrong_call(picture):
    with pytest.raises(ValueError, match="not "):
        rectify(picture, placement_of_footprint(1, 1, 4, 4), SQUARE_MM[1.0])


def test_other_wrong_calls_raise():
    grey, colour = np.zeros((4, 4), np.uint8), np.zeros((4, 4, 3), np.uint8)
    same = placement_of_footprint(1, 1, 4, 4)

    with pytest.raises(ValueError, match="not 0"):
        rectify_together([], SQUARE_MM[1.0])
    with pytest.raises(ValueError, match="channels"):
        rectify_together([Piece(grey, same), Piece(colour, same)], SQUARE_MM[1.0])
    steep, large = _placement(Pinhole(tilt_deg=80.0)), np.zeros((HEIGHT_PX, WIDTH_PX), np.uint8)
    with pytest.raises(ValueError, match="horizon"):
        rectify(large, steep, SQUARE_MM[1.0])


def test_a_picture_may_be_a_view_that_runs_backward():
    picture = np.random.default_rng(5).integers(0, 256, (60, 80, 3), dtype=np.uint8)
    window = Window(-0.4, -0.3, 0.4, 0.3, 10)

    drawn = rectify(picture[:, :, ::-1], placement_of_footprint(0.8, 0.6, 80, 60), window)

    assert_array_equal(drawn.image, picture[:, :, ::-1])
