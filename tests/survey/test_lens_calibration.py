"""A lens from pictures of a board, in scenes whose lens has terms that the solver lacks.

The scenes are drawn here, with scipy's rotations; the board's layout is checked by OpenCV's own
detector, on a raster made of the numbers from which the page prints it.
"""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from survey.calibration_board import Board, find_board
from survey.errors import Unfit
from survey.lens import undistort_points
from survey.lens_calibration import Calibration, View, calibrate

WIDTH, HEIGHT = 4000, 3000
FOCAL, CENTRE, K1, K2 = 3300.0, np.array([2020.0, 1478.0]), -0.14, 0.05
BOARD = Board()


def straight(rays):
    return CENTRE + FOCAL * rays[:, :2] / rays[:, 2:]


def taken(rays, k3=0.02, tangential=2e-4):
    """Through k1, k2, and terms that the solver lacks."""
    q = rays[:, :2] / rays[:, 2:]
    r2 = (q**2).sum(axis=1)[:, None]
    bent = q * (1 + K1 * r2 + K2 * r2**2 + k3 * r2**3)
    bent = bent + tangential * (r2 + 2 * q**2)
    return CENTRE + FOCAL * bent


def views(count, seed, *, sigma_px=0.2, tilt_deg=30.0, aside=1.0):
    """Pictures of the board held about a metre off, turned, and moved into edges and corners."""
    random = np.random.default_rng(seed)
    corners = BOARD.corners_mm()
    found = []
    for n in range(count):
        turn = Rotation.from_euler("xyz", random.uniform(-tilt_deg, tilt_deg, 3), degrees=True)
        distance = random.uniform(450, 800)
        to = np.array([(-1, -1), (1, 1), (1, -1), (-1, 1), (0, 0)][n % 5]) * aside * 0.45
        middle = distance * np.array([to[0], 0.75 * to[1], 1.0])
        flat = np.column_stack([corners - corners.mean(axis=0), np.zeros(len(corners))])
        at = taken(turn.apply(flat) + middle) + random.normal(0, sigma_px, (len(corners), 2))
        seen = ((at > 0) & (at < (WIDTH - 1, HEIGHT - 1))).all(axis=1)
        found.append(View(corners[seen], at[seen]))
    return found


def test_a_lens_with_terms_of_its_own_is_freed_to_a_third_of_a_pixel():
    found = calibrate(views(12, seed=1), WIDTH, HEIGHT)

    assert isinstance(found, Calibration)
    random = np.random.default_rng(2)
    rays = np.column_stack([random.uniform(-0.45, 0.45, 400), random.uniform(-0.33, 0.33, 400)])
    rays = np.column_stack([rays, np.ones(400)])
    wanted = straight(rays)
    freed = undistort_points(found.lens, taken(rays))
    # A placement takes up what is a homography: judge what is left after the best one.
    off = freed - _through_best_homography(wanted, freed)
    assert np.sqrt((off**2).sum(axis=1).mean()) < 0.35
    assert found.focal_px == pytest.approx(FOCAL, abs=4 * max(found.focal_sigma_px, 2.0))


def test_the_focal_length_strays_by_as_much_as_its_deviation_says(monkeypatch):
    """Noise alone: the lens is one that the solver has."""
    monkeypatch.setattr(taken, "__defaults__", (0.0, 0.0))
    found = [calibrate(views(6, seed=20 + n), WIDTH, HEIGHT) for n in range(12)]
    off = [(one.focal_px - FOCAL) / one.focal_sigma_px for one in found]

    assert 0.5 < np.sqrt(np.mean(np.square(off))) < 1.7


def _through_best_homography(points, target):
    from skimage.transform import ProjectiveTransform

    return ProjectiveTransform.from_estimate(points, target)(points)


def test_residuals_are_those_of_the_noise_and_of_withheld_pictures():
    found = calibrate(views(12, seed=3, sigma_px=0.5), WIDTH, HEIGHT)

    assert isinstance(found, Calibration)
    assert found.sigma_px == pytest.approx(0.5, rel=0.1)
    assert found.rms_px < found.withheld_rms_px < 1.3 * found.rms_px
    assert len(found.view_rms_px) == 12
    assert found.reach > 0.85
    assert found.caution is None


UNFIT = {
    "too few": (views(3, 4), "too-few-views"),
    "in the middle": (views(8, 5, aside=0.0, tilt_deg=20.0), "board-in-the-middle"),
    "never turned": (views(8, 6, tilt_deg=1.0), "board-never-turned"),
}


@pytest.mark.parametrize(("given", "code"), UNFIT.values(), ids=UNFIT)
def test_pictures_that_cannot_tell_are_unfit(given, code):
    found = calibrate(given, WIDTH, HEIGHT)

    assert isinstance(found, Unfit)
    assert found.code == code
    assert str(found)


def test_arrays_that_do_not_match_are_a_wrong_call():
    with pytest.raises(ValueError, match="pairs"):
        calibrate([View(np.zeros((5, 2)), np.zeros((4, 2)))], WIDTH, HEIGHT)
    with pytest.raises(ValueError, match="finite"):
        calibrate([View(np.zeros((1, 2)), np.full((1, 2), np.nan))], WIDTH, HEIGHT)


def raster(board, px_a_mm=4, margin_mm=15):
    """The board as it is printed, from its numbers."""
    size = np.array([board.rows, board.columns]) * board.square_mm + 2 * margin_mm
    page = np.full((size * px_a_mm).astype(int), 255, np.uint8)

    def black(x, y, side):
        left, top, right, bottom = (
            round((at + margin_mm) * px_a_mm) for at in (x, y, x + side, y + side)
        )
        page[top:bottom, left:right] = 0

    for x, y in board.black_squares_mm():
        black(x, y, board.square_mm)
    for x, y, modules in board.codes_mm():
        side = board.marker_mm / len(modules)
        for row, column in np.argwhere(modules):
            black(x + column * side, y + row * side, side)
    return page, (board.corners_mm() + margin_mm) * px_a_mm - 0.5


@pytest.mark.parametrize("board", [BOARD, Board(7, 5, 35.0, 28.0)])
def test_the_printed_board_is_the_one_that_is_looked_for(board):
    page, corners = raster(board)
    numbers, at = find_board(board, page)

    assert numbers.tolist() == list(range(len(corners)))
    np.testing.assert_allclose(at, corners, atol=0.3)


def test_a_part_of_the_board_is_known_by_its_codes():
    page, corners = raster(BOARD)
    numbers, at = find_board(BOARD, np.ascontiguousarray(page[:, 480:]))

    assert 20 < len(numbers) < 54
    np.testing.assert_allclose(at + np.array([480, 0]), corners[numbers], atol=0.3)


def test_no_board_no_corners():
    numbers, at = find_board(BOARD, np.full((200, 300), 128, np.uint8))

    assert (len(numbers), at.shape) == (0, (0, 2))


@pytest.mark.parametrize("wrong", [{"columns": 2}, {"marker_mm": 25.0}, {"rows": 40}])
def test_a_board_that_cannot_be_is_a_wrong_call(wrong):
    with pytest.raises(ValueError):
        Board(**wrong)


def test_another_array_is_a_wrong_call():
    with pytest.raises(ValueError, match="grey"):
        find_board(BOARD, np.zeros((3, 3)))
