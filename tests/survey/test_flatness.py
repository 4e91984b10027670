"""Paper that was not flat, told by its own lines; bent by a cylinder's exact shape.

Truth is OpenCV's: its homography through the codes' true corners, and where it puts the crossings
of the printed lines. A sheet's registration is that homography, too, so that nothing else of ours
has a part in it.
"""

import cv2
import numpy as np
import pytest

from survey.errors import Unfit
from survey.flatness import flatness
from survey.print_layout import FLAT_WITHIN_MM, PrintLayout
from tests.survey.made_prints import PX, Cylinder, paper, ruled

CODES = (1, 251, 501, 751)
LAYOUT = PrintLayout()


def told(sheet, sagitta_mm, tilt_deg=18.0):
    """What is told of it, and the true departures of the crossings, mm."""
    bent = Cylinder(LAYOUT.size_mm, sagitta_mm, tilt_deg, 2.5)
    picture = cv2.GaussianBlur(bent.picture(sheet), (0, 0), 0.7)
    noise = np.random.default_rng(5).normal(0, 2.0, picture.shape)
    grey = np.clip(picture + noise, 0, 255).astype(np.uint8)
    corners = LAYOUT.code_corners_mm().reshape(-1, 2)
    to_mm = cv2.findHomography(bent.to_px(corners), corners)[0]
    area = LAYOUT.area
    steps = np.linspace(0, 100, 6)
    crossings = np.stack(np.meshgrid(area.x_mm + steps, area.y_mm + steps), -1).reshape(-1, 2)
    there = cv2.perspectiveTransform(bent.to_px(crossings)[:, None], to_mm)[:, 0]
    return flatness(grey, to_mm, LAYOUT), np.linalg.norm(there - crossings, axis=1)


@pytest.mark.parametrize("sagitta_mm", [4.0, 12.0])
def test_bent_paper_is_told_by_how_much(sagitta_mm):
    found, true = told(ruled(paper(CODES, LAYOUT), LAYOUT), sagitta_mm)

    assert np.quantile(true, 0.95) > FLAT_WITHIN_MM  # else nothing would be tried
    assert found.largest_mm == pytest.approx(np.quantile(true, 0.95), rel=0.05, abs=0.1)
    assert found.median_mm == pytest.approx(np.median(true), rel=0.05, abs=0.1)
    assert found.answered >= 30


def test_pencil_beside_the_lines_of_flat_paper_raises_no_alarm():
    """Beside each line, all along it, from 0.6 to 2 mm off and on either side; and across."""
    sheet = ruled(paper(CODES, LAYOUT), LAYOUT)
    area, random = LAYOUT.area, np.random.default_rng(7)
    for view, (start, other) in (
        (sheet, (area.x_mm, area.y_mm)),
        (sheet.T, (area.y_mm, area.x_mm)),
    ):
        for at in np.arange(0, 101, 20):
            beside = start + at + random.choice((-1, 1)) * random.uniform(0.6, 2.0)
            first, last = sorted(random.uniform(0, 100, 2))
            rows = slice(round((other + first) * PX), round((other + last) * PX))
            view[rows, round(beside * PX)] = random.uniform(60, 150)
    for _ in range(12):
        ends = np.rint((random.uniform(0, 100, (2, 2)) + np.array([area.x_mm, area.y_mm])) * PX)
        cv2.line(sheet, *ends.astype(int).tolist(), 90, 2, cv2.LINE_AA)
    found, true = told(sheet, 0.01)

    assert true.max() < 0.05
    assert found.largest_mm < FLAT_WITHIN_MM
    assert found.answered >= 18


def test_lines_that_are_not_seen_say_nothing():
    """Neither a sheet without them nor one that something lies on tells of its paper."""
    blank = paper(CODES, LAYOUT)
    grass = ruled(paper(CODES, LAYOUT), LAYOUT)
    area = [round(n * PX) for n in (LAYOUT.area.x_mm - 8, LAYOUT.area.y_mm - 8)]
    part = np.s_[area[1] : area[1] + 116 * PX, area[0] : area[0] + 116 * PX]
    grass[part] = np.random.default_rng(3).integers(0, 255, grass[part].shape)
    to_mm = np.array([[1 / PX, 0, 0.5 / PX], [0, 1 / PX, 0.5 / PX], [0, 0, 1]])
    for sheet in (blank, grass):
        found = flatness(sheet, to_mm, LAYOUT)
        assert isinstance(found, Unfit)
        assert found.code == "lines-unseen"
