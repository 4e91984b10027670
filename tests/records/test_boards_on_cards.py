"""Boards photographed with a run: found in the worker, and what they say of a card's frames."""

import numpy as np
import pytest
from django.urls import reverse
from PIL import Image

from records.intake.arrangement import arrangement
from records.models import Card, PictureCodes, Role
from records.queries.accepted_sheet import accepted_sheet
from records.queries.sheet import sheet_of
from records.refusals import Conflict
from records.verbs.acceptance import accept_card
from records.verbs.sheet import leave_out_told
from records.verbs.tower import RowEntry
from survey.markers import Kind, code_for, marker_modules
from tests import made_files
from tests.factory import make_member
from tests.factory_cards import run_of_small_frames, taken_after
from tests.factory_cards import set_up_of_small_frames as set_up_of

pytestmark = pytest.mark.django_db

WIDTH, HEIGHT = 180, 120
TWO_ROWS = (RowEntry(0.5, 0.5, 0.0, 1.0, 3), RowEntry(2.5, 1.5, 180.0, 1.0, 3))
BEGINS, ENDS = Kind.ROW_BEGINS, Kind.ROW_ENDS


@pytest.fixture
def run(season):
    set_up = set_up_of(season, picture_width_px=WIDTH, picture_height_px=HEIGHT)
    return run_of_small_frames(season, *TWO_ROWS, set_up=set_up)


def frame(at_s, *boards):
    """A picture of sand, or of printed codes on it, 8 px a module."""
    picture = made_files.pixels(WIDTH, HEIGHT, seed=int(at_s) + 1)
    for n, board in enumerate(boards):
        code = np.pad(~marker_modules(code_for(*board)), 1, constant_values=True)
        printed = Image.fromarray(code.astype(np.uint8) * 255).resize((80, 80), 0)
        picture.paste(printed, (5 + 88 * n, 20))
    return made_files.encoded(picture, "JPEG", quality=92, exif=taken_after(at_s))


@pytest.fixture
def bring_in(worked_off):
    return lambda frames: worked_off(
        {at_s: frame(at_s, *boards) for at_s, boards in frames.items()}
    )


def stands(card):
    now = arrangement(Card.objects.get(pk=card.pk))
    names = {str(one.pk): int(one.original_name[1:5]) for one in now.frames}
    on = {place: names[key] for key, place in now.laid.on.items()}
    return dict(sorted(on.items())), sorted(names[key] for key in now.laid.spare)


def told(card):
    """Of each frame that is told something: its time → short words."""
    items = sheet_of(card).frames
    return {int(one.name[1:5]): [*one.doubts, *one.flags] for one in items if one.doubts}


TAKEN = {
    0: [],  # on the way down
    30: [(Kind.RUN, 1)],
    60: [(BEGINS, 1)],
    80: [],
    100: [],
    104: [],  # once more
    124: [],
    150: [(ENDS, 1)],
    200: [(BEGINS, 2)],
    221: [],
    262: [],  # a station passed over
    290: [(ENDS, 2)],
}


def test_boards_hold_the_rows_of_a_card_and_what_is_over_is_left_out_in_one_go(
    client, season, bring_in
):
    card = bring_in(TAKEN)
    sheet = sheet_of(card)
    said = told(card)

    assert stands(card) == (
        {0: 80, 1: 104, 2: 124, 3: 221, 5: 262},
        [0, 30, 60, 100, 150, 200, 290],
    )
    assert said[0] == ["Before the board"]
    assert said[30] == ["Run board 1"]
    assert said[60] == ["Board: row 1 begins"]
    assert said[100][0] == "Taken again"
    again = next(one for one in sheet.spare if one.name == "P0100.JPG")
    assert any("taken again 4 s later: P0104.JPG" in words for words in again.said)
    (gap,) = sheet.passed_over
    assert "from P0221.JPG to P0262.JPG it took 41 s" in gap.said[0]
    assert PictureCodes.objects.count() == len(TAKEN)

    client.force_login(make_member(season.site, Role.CREW).account)
    assert "Leave out those with a reason" in client.get(page_of(card)).text
    sent = {"act": "leave_told", "seen": sheet.seen}
    client.post(reverse("card_move", args=[season.code, card.pk]), sent)
    sheet = sheet_of(Card.objects.get(pk=card.pk))
    assert sheet.spare == []
    assert {one.left_out for one in sheet.left_out} >= {"Taken again", "Run board 1"}
    assert len(sheet.used) == 5
    with pytest.raises(Conflict):
        leave_out_told(card)
    accept_card(card)
    sheet = accepted_sheet(card)
    assert sheet.notes == ["Rows 1 and 2 are held by boards or tags in their frames."]
    assert sheet.remarks == []


def page_of(card):
    return reverse("card", args=[card.season.code, card.pk])


def test_rows_without_boards_may_be_shifted(bring_in):
    card = bring_in({10: [], 30: [], 50: [], 70: []})

    assert stands(card)[0] == {0: 10, 1: 30, 2: 50, 3: 70}
    assert any(
        "No board or tag was found for rows 1, 2. Each" in one for one in sheet_of(card).remarks
    )


def test_a_board_of_another_run_and_two_boards_at_once_are_told(bring_in):
    card = bring_in({10: [(Kind.RUN, 9)], 20: [(BEGINS, 1)], 30: [(BEGINS, 2), (ENDS, 1)], 50: []})
    said = {one.name: one.said for one in sheet_of(card).spare}

    assert said["P0010.JPG"] == ["It shows a board that is not of this run."]
    assert said["P0030.JPG"] == ["It shows two boards, so that it is not known which is meant."]
    assert stands(card)[0] == {0: 50}


def test_boards_that_go_back_are_told_and_frames_stay_in_order_of_time(bring_in):
    card = bring_in({10: [(BEGINS, 2)], 30: [], 50: [(BEGINS, 1)], 70: []})

    assert len(stands(card)[0]) == 4
    assert "go back along the run" in sheet_of(card).remarks[0]


def test_the_sheet_is_another_once_boards_are_found(bring_in):
    card = bring_in({10: [], 30: [(BEGINS, 2)], 50: []})
    after = sheet_of(card).seen
    PictureCodes.objects.all().delete()

    assert sheet_of(card).seen != after
