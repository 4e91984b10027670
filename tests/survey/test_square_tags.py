"""Tags of squares: their numbers, and from which stations a tag can be seen where it is seen."""

import math

import numpy as np
import pytest

from survey.anchored import lay_anchored
from survey.anchors import Anchor, AnchorKind
from survey.markers import Kind, code_for, meaning_of
from survey.placement import Pose, placement_of_footprint
from survey.square_tags import SIDE_M, lies_on_ground, square_at, stations_seeing, tag_number
from survey.stations import Shot

BASE = placement_of_footprint(1.5, 1.0, 1500, 1000)  # a millimetre a pixel
ROW = [Pose(0.5 + 0.9 * n, 0.5) for n in range(6)]


def seen_at(pose, tag):
    """The pixel in which a tag at (x, y) on the grid is seen from a station, by hand."""
    x, y = tag[0] - pose.x_m, tag[1] - pose.y_m
    turn = math.radians(-pose.turn_deg)
    x, y = x * math.cos(turn) - y * math.sin(turn), x * math.sin(turn) + y * math.cos(turn)
    return (x + 0.75) * 1000 - 0.5, (0.5 - y) * 1000 - 0.5


def test_numbers_are_those_of_tags_and_of_nothing_else_and_differ_nearby():
    near = {tag_number(column, row) for column in range(-12, 13) for row in range(-10, 10)}

    assert len(near) == 500  # 25 × 20 squares round any place
    assert (min(near), max(near)) == (1, 500)
    assert {meaning_of(code_for(Kind.SQUARE, n)).kind for n in near} == {Kind.SQUARE}
    assert tag_number(3, 4) == tag_number(28, -16) == 65


@pytest.mark.parametrize("turn_deg", [0.0, 90.0, 180.0])
def test_a_tag_tells_the_stations_from_which_it_can_be_seen_there(turn_deg):
    row = [Pose(one.x_m, one.y_m, turn_deg) for one in ROW]
    tag = (2.5, 0.6)  # in the middle of square (2, 0)
    at_px = seen_at(row[2], tag)

    assert stations_seeing(tag_number(2, 0), BASE, at_px, row, 1.0) == (2,)
    assert square_at(tag_number(2, 0), BASE, at_px, row[2], 1.0) == (2, 0)
    assert stations_seeing(tag_number(2, 1), BASE, at_px, row, 1.0) == ()
    # by the edge of its square it might be seen so from the station before
    at_px = seen_at(row[2], (2.97, 0.6))
    assert stations_seeing(tag_number(2, 0), BASE, at_px, row, 1.0) == (1, 2)
    # a hand's breadth over the string it is still told
    at_px = seen_at(row[2], (3.08, 0.6))
    assert 2 in stations_seeing(tag_number(2, 0), BASE, at_px, row, 1.0)


def test_a_tag_held_up_to_the_camera_is_told_by_its_size():
    assert lies_on_ground(BASE, (700, 500), SIDE_M * 1000)
    assert not lies_on_ground(BASE, (700, 500), 1.5 * SIDE_M * 1000)
    assert not lies_on_ground(BASE, (700, 500), 0.5 * SIDE_M * 1000)


def laid(anchors, rows=(6,), **more):
    shots = [Shot(f"f{n}", f"F{n}", 10.0 * n) for n in range(5)]
    return lay_anchored(shots, list(rows), anchors, **more)


def test_a_frame_on_one_of_some_stations_holds_its_row():
    found = laid({"f3": Anchor(AnchorKind.AT_ONE_OF, among=(4, 5))})

    assert found.laid.by_station == {1: "f0", 2: "f1", 3: "f2", 4: "f3", 5: "f4"}
    assert found.anchored_rows == {0: False}
    assert laid({"f3": Anchor(AnchorKind.AT_ONE_OF, among=(2, 3))}).laid.on["f0"] == 0
    two = laid({"f4": Anchor(AnchorKind.AT_ONE_OF, among=(2, 4))}, rows=(3, 4))
    assert two.anchored_rows == {}  # it may be in either row
    assert two.laid.on["f4"] == 4


def test_stations_shot_again_are_opened_only_where_a_tag_says_so():
    among = Anchor(AnchorKind.AT_ONE_OF, among=(1, 2))

    assert set(laid({"f0": among}, fill=[2, 5]).laid.on.values()) <= {2, 5}
    assert laid({"f0": among}, fill=[4, 5]).laid.on["f0"] in {1, 2}


@pytest.mark.parametrize("among", [(), (6,), (-1, 2)])
def test_a_station_that_is_not_there_is_refused(among):
    with pytest.raises(ValueError, match="no place"):
        laid({"f0": Anchor(AnchorKind.AT_ONE_OF, among=among)})


def test_a_number_is_a_whole_one_for_every_square():
    columns, rows = np.mgrid[-60:60, -45:45]
    numbers = {tag_number(int(c), int(r)) for c, r in zip(columns.flat, rows.flat, strict=True)}

    assert numbers == set(range(1, 501))
