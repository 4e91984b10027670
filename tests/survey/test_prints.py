"""Printed sheets: where their parts stand, what their codes say, and reading them back.

Sheets are drawn here with OpenCV's own code generator; segno writes the QR code.
"""

from dataclasses import replace
from uuid import UUID

import cv2
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from survey.calibration_board import Board
from survey.errors import Unfit
from survey.markers import find_markers, marker_modules
from survey.print_codes import (
    SHORTS,
    PrintIdentity,
    PrintKind,
    codes_of,
    identity_of,
    key_said,
    qr_text,
    short_of,
)
from survey.print_layout import Paper, PrintLayout
from survey.print_reading import key_by_qr, read_print, register_print, squares_px
from tests.survey.made_prints import PX, SEVEN, paper

KEY = UUID("6f2c1d3e-8a4b-4c5d-9e6f-0123456789ab")
SHEET = PrintIdentity(PrintKind.SHEET, short_of(KEY))


def on_a_table(sheet, turns=0):
    return np.ascontiguousarray(np.rot90(np.pad(sheet, 60, constant_values=90), turns))


@given(short=st.integers(0, SHORTS - 1), kind=st.sampled_from(PrintKind))
@settings(max_examples=50)
def test_what_the_codes_say_is_read_again(short, kind):
    codes = codes_of(PrintIdentity(kind, short))

    assert identity_of(dict(enumerate(codes))) == PrintIdentity(kind, short)
    assert [code // 250 for code in codes] == [0, 1, 2, 3]


@given(short=st.integers(0, SHORTS - 1), place=st.integers(0, 3), by=st.integers(1, 249))
@settings(max_examples=200)
def test_one_code_read_wrong_is_noticed(short, place, by):
    codes = dict(enumerate(codes_of(PrintIdentity(PrintKind.SHEET, short))))
    codes[place] = 250 * place + (codes[place] + by) % 250

    assert isinstance(identity_of(codes), Unfit)


@pytest.mark.parametrize(
    "part",
    [
        range(0, 1000, 12),
        *(pytest.param(range(n, 1000, 12), marks=pytest.mark.slow) for n in range(1, 12)),
    ],
    ids=str,
)
def test_no_code_of_a_sheet_is_one_of_our_other_codes(part):
    """Codes of each dictionary, many in a picture, are seen by their own reader only."""
    sheet_codes = _together(lambda n: cv2.aruco.generateImageMarker(SEVEN, n, 9), part, 9)
    other = _together(lambda n: np.where(marker_modules(n), 0, 255), part, 8)
    board = Board(20, 10).codes_mm()
    chequer = _together(lambda n: np.where(board[n][2], 0, 255), [n for n in part if n < 100], 7)

    assert find_markers(sheet_codes) == ()
    assert read_print(other).code == "no-codes"
    assert read_print(chequer).code == "no-codes"
    assert read_print(sheet_codes).code == "two-prints"


def _together(modules, codes, side):
    step, columns = 5 * (side + 3), 12
    shown = np.full((step * (len(codes) // columns + 1), step * columns), 240, np.uint8)
    for place, n in enumerate(codes):
        row, column = divmod(place, columns)
        code = np.kron(modules(n), np.ones((5, 5))).astype(np.uint8)
        top, left = row * step + 7, column * step + 7
        shown[top : top + 5 * side, left : left + 5 * side] = code
    return cv2.GaussianBlur(shown, (0, 0), 0.7)


@pytest.mark.parametrize("turns", range(4))
def test_a_sheet_is_read_however_it_lies(turns):
    layout = PrintLayout()
    grey = on_a_table(paper(codes_of(SHEET), layout, qr_text(SHEET.kind, KEY)), turns)
    seen = read_print(grey)
    found = register_print(grey, seen, layout)

    assert seen.identity == SHEET
    assert (seen.turn_deg + 90 * turns) % 360 == pytest.approx(0, abs=0.1)
    assert found.rms_mm < 0.05
    assert key_said(found.qr) == KEY
    upright = squares_px(found, layout, np.array([[0.0, 0.0], [1.0, 1.0]]))
    # 100 mm of paper for a metre at 1:10; the picture's own turn leaves lengths as they are.
    side = np.abs(upright[1] - upright[0])
    assert side == pytest.approx([100 * PX, 100 * PX], abs=0.5)


def test_what_cannot_be_read_says_why():
    layout = PrintLayout()
    sheet = paper(codes_of(SHEET), layout)
    covered, half = sheet.copy(), sheet.copy()
    covered[: 30 * PX, : 30 * PX] = 200
    half[:, : 105 * PX] = 200
    mixed = [*codes_of(SHEET)[:3], codes_of(PrintIdentity(PrintKind.SHEET, 5))[3]]
    two = np.hstack([sheet, paper(codes_of(PrintIdentity(PrintKind.SHEET, 5)), layout)])

    said = {
        "no-codes": np.full((400, 300), 200, np.uint8),
        "code-missing": covered,
        "codes-missing": half,
        "mirrored": on_a_table(sheet)[:, ::-1],
        "codes-disagree": on_a_table(paper(mixed, layout)),
        "two-prints": on_a_table(two),
    }
    for code, grey in said.items():
        assert read_print(np.ascontiguousarray(grey)).code == code


def test_a_sliver_of_a_picture_shows_no_print():
    sliver = np.full((3001, 1), 200, np.uint8)

    assert read_print(sliver).code == "no-codes"
    assert key_by_qr(sliver) is None


def test_another_sheet_s_qr_code_is_refused():
    layout = PrintLayout()
    grey = on_a_table(paper(codes_of(SHEET), layout, qr_text(SHEET.kind, UUID(int=7))))

    assert register_print(grey, read_print(grey), layout).code == "qr-disagrees"


def test_codes_that_lie_otherwise_than_printed_are_refused():
    """Both papers have the same shape; the codes are 16 mm on either."""
    grey = on_a_table(paper(codes_of(SHEET), PrintLayout()))

    assert register_print(grey, read_print(grey), PrintLayout(Paper.A3)).code == "not-flat"


@pytest.mark.parametrize("size", [Paper.A4, Paper.A3])
@pytest.mark.parametrize("scale", [5, 10, 20])
def test_a_square_fits_and_nothing_covers_the_codes(size, scale):
    """ISO 216: A4 is 210 × 297 mm, A3 297 × 420 mm."""
    layout = PrintLayout(size, scale)

    assert layout.problem is None
    assert sorted(layout.size_mm) == {"a4": [210, 297], "a3": [297, 420]}[size]
    assert layout.area.width_mm == pytest.approx(1000 / scale)
    boxes = [*layout.codes, layout.area, layout.boxes, layout.qr]
    width, height = layout.size_mm
    for n, one in enumerate(boxes):
        assert 5 <= one.x_mm <= width - 5 - one.width_mm
        assert 5 <= one.y_mm <= height - 5 - one.height_mm
        assert not any(_overlap(one, other) for other in boxes[n + 1 :])


def _overlap(one, other):
    return (
        one.x_mm < other.x_mm + other.width_mm
        and other.x_mm < one.x_mm + one.width_mm
        and one.y_mm < other.y_mm + other.height_mm
        and other.y_mm < one.y_mm + one.height_mm
    )


def test_a_block_turns_the_paper_or_is_refused_in_words():
    assert PrintLayout(scale=20, columns=5).is_landscape
    assert not PrintLayout(columns=2, rows=2).is_landscape
    problem = PrintLayout(columns=3, rows=3).problem
    assert problem.code == "too-large-for-paper"
    assert "300 × 300 mm" in str(problem)
    assert replace(PrintLayout(columns=3, rows=3), scale=20).problem is None


def test_paper_and_squares_are_one_another_s_inverse():
    layout = PrintLayout(Paper.A3, 10, 2, 2)
    points = np.array([[0.0, 0.0], [2.0, 2.0], [0.35, 1.2]])

    assert layout.to_squares(layout.to_paper(points)) == pytest.approx(points)
    # The lowest left corner of the squares is the area's lower left one.
    area = layout.area
    assert layout.to_paper(points)[0] == pytest.approx([area.x_mm, area.y_mm + area.height_mm])


def test_lines_stand_every_20_cm_and_not_on_the_edges():
    across, up = PrintLayout(line_m=0.2).lines_mm()

    assert across == pytest.approx([75, 95, 115, 135])
    assert up == pytest.approx([111, 91, 71, 51])
    # A side that is no multiple of the step: the last piece is narrower.
    assert len(PrintLayout(side_m=0.5, line_m=0.2).lines_mm()[0]) == 2


def test_a_print_that_cannot_be_is_a_wrong_call():
    for wrong in ({"scale": 0}, {"columns": 0}, {"side_m": -1.0}, {"line_m": 0.0}):
        with pytest.raises(ValueError, match=r"must be|has no"):
            PrintLayout(**wrong)
    with pytest.raises(ValueError, match="no print"):
        PrintIdentity(PrintKind.SHEET, SHORTS)
    with pytest.raises(ValueError, match="one code a corner"):
        identity_of({0: 1})
