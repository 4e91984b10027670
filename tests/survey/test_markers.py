"""Printed codes found in made pictures, and what they stand for.

The pictures are drawn from OpenCV's own generator of codes (`made_markers`), on seeds other than
those on which the search was set up; the larger trial stands in the bench.
"""

import numpy as np
import pytest

from survey.errors import Unfit
from survey.markers import (
    BaseMarker,
    BaseMarks,
    Kind,
    Marker,
    Meaning,
    base_marks,
    code_for,
    find_markers,
    marker_modules,
    meaning_of,
)
from survey.marks import MarkedPlacement, place_by_marks
from survey.placement import to_plane
from tests.survey.made_markers import frame_with_codes

CODES = [3, 101, 151, 207, 499, 500, 999]


@pytest.fixture(scope="module")
def frames():
    return [frame_with_codes(seed, CODES, width=900, height=675) for seed in range(1, 7)]


def test_codes_are_found_where_they_are_and_nowhere_else(frames):
    found = [{one.code: one for one in find_markers(scene.grey)} for scene in frames]
    hits = sum(code in one for one in found for code in CODES)
    off = np.concatenate(
        [
            one[code].corners - frame.truth[code]
            for one, frame in zip(found, frames, strict=True)
            for code in CODES
            if code in one
        ]
    )

    assert hits >= 0.98 * len(CODES) * len(frames)
    assert {code for one in found for code in one} <= set(CODES)
    assert np.sqrt((off**2).mean()) < 0.25
    assert np.abs(off.mean(axis=0)).max() < 0.05


def test_a_seabed_bears_no_codes():
    assert not any(find_markers(frame_with_codes(seed, []).grey) for seed in (31, 32, 33))


def test_a_code_may_lie_in_a_picture_twice():
    scene = frame_with_codes(5, [7, 640])
    twice = np.hstack([scene.grey, scene.grey])

    assert [one.code for one in find_markers(twice)] == [7, 7, 640, 640]


@pytest.mark.parametrize("picture", [np.zeros((4, 4, 3), np.uint8), np.zeros((4, 4)), np.zeros(0)])
def test_another_array_is_a_wrong_call(picture):
    with pytest.raises(ValueError, match="grey"):
        find_markers(picture)


def test_any_two_codes_differ_in_nine_modules_however_turned():
    """The dictionary's own distance (Garrido-Jurado and others, 2014), from what is printed."""
    every = np.array([marker_modules(code)[1:7, 1:7] for code in range(1000)])
    for turn in range(4):
        turned = np.rot90(every, turn, axes=(1, 2)).reshape(1000, 36).astype(np.float32)
        plain = every.reshape(1000, 36).astype(np.float32)
        apart = plain @ (1 - turned).T + (1 - plain) @ turned.T
        if turn == 0:
            np.fill_diagonal(apart, 36)
        assert apart.min() >= 9


def test_a_code_has_a_black_border():
    modules = marker_modules(42)

    assert modules.shape == (8, 8)
    assert modules[[0, -1]].all()
    assert modules[:, [0, -1]].all()


@pytest.mark.parametrize(
    ("code", "kind", "number"),
    [(0, Kind.BASE, 1), (99, Kind.BASE, 100), (100, Kind.ROW_BEGINS, 1), (199, Kind.ROW_ENDS, 50),
     (200, Kind.RUN, 1), (499, Kind.RUN, 300), (500, Kind.SQUARE, 1), (999, Kind.SQUARE, 500)],
)  # fmt: skip
def test_each_code_stands_for_one_thing(code, kind, number):
    assert meaning_of(code) == Meaning(kind, number)
    assert code_for(kind, number) == code


@pytest.mark.parametrize(("kind", "number"), [(Kind.RUN, 0), (Kind.RUN, 301), (Kind.BASE, -1)])
def test_a_number_without_a_code_is_a_wrong_call(kind, number):
    with pytest.raises(ValueError, match=str(number)):
        code_for(kind, number)


@pytest.mark.parametrize("code", [-1, 1000])
def test_a_number_that_is_no_code_is_a_wrong_call(code):
    with pytest.raises(ValueError, match=str(code)):
        meaning_of(code)


BASE = [
    BaseMarker(code_for(Kind.BASE, n + 1), x, y, 0.06, turn)
    for n, (x, y, turn) in enumerate(
        [(-0.6, 0.5, 0.0), (0.6, 0.5, 90.0), (0.6, -0.5, 180.0), (-0.6, -0.5, 45.0)]
    )
]


def seen_from_above(marker: BaseMarker) -> Marker:
    """At 1000 px a metre, straight down, the middle of the base at (1000, 800)."""
    return Marker(marker.code, marker.corners_m * (1000.0, -1000.0) + (1000.0, 800.0))


def test_base_markers_lie_as_they_are_turned():
    upright, quarter = BASE[0].corners_m, BASE[1].corners_m

    np.testing.assert_allclose(upright[0], (-0.63, 0.53))
    np.testing.assert_allclose(upright[2], (-0.57, 0.47))
    np.testing.assert_allclose(quarter[0], (0.57, 0.47))  # its upper left has turned lower left


def test_base_markers_place_a_set_up_and_leave_a_residual():
    found = [seen_from_above(marker) for marker in BASE[:3]]
    other = Marker(code_for(Kind.SQUARE, 9), np.zeros((4, 2)))
    marks = base_marks([*found, other], BASE)
    assert isinstance(marks, BaseMarks)
    placed = place_by_marks(marks.picture, marks.plane, 2000, 1600)

    assert isinstance(placed, MarkedPlacement)
    assert placed.degrees_of_freedom == 2 * 12 - 8
    np.testing.assert_allclose(to_plane(placed.placement, (1000.0, 800.0)), (0, 0), atol=1e-9)
    assert marks.missing == (BASE[3].code,)
    assert marks.codes[4:8] == (BASE[1].code,) * 4


def test_a_base_without_markers_and_a_marker_twice_are_told():
    one = seen_from_above(BASE[0])

    for found, code in ([], "no-base-marker"), ([one, one], "base-marker-twice"):
        unfit = base_marks(found, BASE)
        assert isinstance(unfit, Unfit)
        assert unfit.code == code
        assert str(unfit)


@pytest.mark.parametrize("wrong", [{"side_m": 0.0}, {"x_m": np.nan}, {"code": 1000}])
def test_a_base_marker_that_cannot_be_is_a_wrong_call(wrong):
    with pytest.raises(ValueError):
        BaseMarker(**{"code": 1, "x_m": 0.0, "y_m": 0.0, "side_m": 0.1, **wrong})


def test_a_base_carries_each_code_once():
    with pytest.raises(ValueError, match="once"):
        base_marks([], [BASE[0], BASE[0]])


@pytest.mark.parametrize("side_px", [32, 40, 80, 200])
def test_a_board_that_lies_square_in_a_small_picture_is_found(side_px):
    """Its white rim's outer edge is a square of its own, close round the border."""
    at, rim = side_px // 4, side_px // 8
    picture = np.full((side_px + 2 * at, 2 * side_px), 128, np.uint8)
    picture[at - rim : at + side_px + rim, at - rim : at + side_px + rim] = 255
    modules = np.kron(marker_modules(200), np.ones((side_px // 8, side_px // 8), bool))
    picture[at : at + side_px, at : at + side_px] = np.where(modules, 20, 255)
    (found,) = find_markers(picture)

    assert found.code == 200
    edge = (at - 0.5, at + side_px - 0.5)
    wanted = [(edge[0], edge[0]), (edge[1], edge[0]), (edge[1], edge[1]), (edge[0], edge[1])]
    np.testing.assert_allclose(found.corners, wanted, atol=0.1)


@pytest.mark.parametrize("rim_px", range(3))
def test_a_code_whose_white_rim_ends_with_the_picture_does_no_harm(rim_px):
    black = np.kron(marker_modules(7), np.ones((8, 8), bool))
    grey = np.pad(np.where(black, 0, 255).astype(np.uint8), ((rim_px, 24), (24, 24)), "edge")
    grey[:rim_px] = 255
    grey[:, :24] = grey[:, -24:] = grey[-24:] = 255

    assert [one.code for one in find_markers(grey)] in ([], [7])
