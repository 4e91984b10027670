"""Sheets for the tower: what is on them, and that they come out at true size."""

import cv2
import numpy as np
import pytest
from django.urls import reverse

from records.acting import acting_as
from records.archive.tower_prints import base_markers_of
from records.archive.typeset import compiled
from records.models import Role
from tests.factory import make_member, make_season
from tests.factory_pictures import make_tower_set_up

PPI = 127.0  # 5 px a millimetre
PX_A_MM = PPI / 25.4


@pytest.fixture
def season(db):
    season = make_season()
    with acting_as(make_member(season.site, Role.LEAD).account):
        yield season


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


def test_whoever_sees_the_set_up_may_print_them(client, season):
    set_up = make_tower_set_up(season)
    client.force_login(make_member(season.site, Role.CREW).account)
    url = reverse("base_markers", args=[season.code, set_up.pk])

    assert url in client.get(reverse("set_up", args=[season.code, set_up.pk])).text
    assert client.get(url).content.startswith(b"%PDF")
