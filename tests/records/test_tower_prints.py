"""Sheets for the tower: what is on them, and that they come out at true size."""

import cv2
import numpy as np
import pytest
from django.urls import reverse

from records.archive.tower_prints import base_markers_of, board_of
from records.archive.typeset import compiled
from records.models import Role
from tests.factory import make_member
from tests.factory_pictures import make_tower_set_up

PPI = 127.0  # 5 px a millimetre
PX_A_MM = PPI / 25.4


def pages(template, data):
    made = compiled(template, data, format="png", ppi=PPI)
    made = made if isinstance(made, list) else [made]
    return [cv2.imdecode(np.frombuffer(one, np.uint8), cv2.IMREAD_GRAYSCALE) for one in made]


def test_each_corner_has_its_marker_at_true_size_on_a_sheet_of_its_own(season):
    """Found by OpenCV's own detector on the page as it prints: the black 80 mm wide."""
    first, *sheets = pages("base-markers.typ", base_markers_of(make_tower_set_up(season)))
    detector = cv2.aruco.ArucoDetector(cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_6X6_1000))

    assert detector.detectMarkers(first)[1] is None
    assert first.shape == pytest.approx((297 * PX_A_MM, 210 * PX_A_MM), abs=1)
    for number, sheet in enumerate(sheets):
        corners, ids, _ = detector.detectMarkers(sheet)
        assert ids.ravel().tolist() == [number]
        sides = np.linalg.norm(corners[0][0] - np.roll(corners[0][0], 1, axis=0), axis=1)
        assert sides / PX_A_MM == pytest.approx([80] * 4, abs=0.4)
    assert len(sheets) == 4


def test_the_check_bar_is_100_mm_long_on_every_sheet(season):
    for sheet in pages("base-markers.typ", base_markers_of(make_tower_set_up(season))):
        foot = sheet[int(275 * PX_A_MM) :] < 60
        longest = max(row.sum() for row in foot)
        assert longest / PX_A_MM == pytest.approx(100, abs=0.4)


def test_the_board_for_a_lens_is_found_whole_and_true_to_size():
    """OpenCV's own detector finds all 54 corners, 25 mm apart, on the page as it prints."""
    _how, sheet = pages("board.typ", board_of())
    board = cv2.aruco.CharucoBoard(
        (10, 7), 25, 18, cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_5X5_100)
    )
    corners, numbers, _, _ = cv2.aruco.CharucoDetector(board).detectBoard(sheet)

    assert sheet.shape == pytest.approx((210 * PX_A_MM, 297 * PX_A_MM), abs=1)
    assert numbers.ravel().tolist() == list(range(54))
    laid = corners.reshape(6, 9, 2) / PX_A_MM
    assert np.linalg.norm(np.diff(laid, axis=1), axis=2) == pytest.approx(25, abs=0.1)
    assert np.linalg.norm(laid[0, 0] - laid[5, 8]) == pytest.approx(np.hypot(200, 125), abs=0.2)
    longest = max(row.sum() for row in sheet[int(192 * PX_A_MM) :] < 60)
    assert longest / PX_A_MM == pytest.approx(100, abs=0.4)


def test_whoever_sees_the_set_up_may_print_them(client, season):
    set_up = make_tower_set_up(season)
    client.force_login(make_member(season.site, Role.CREW).account)
    url = reverse("base_markers", args=[season.code, set_up.pk])

    assert url in client.get(reverse("set_up", args=[season.code, set_up.pk])).text
    assert client.get(url).content.startswith(b"%PDF")
