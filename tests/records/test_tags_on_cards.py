"""Tags of squares in a card's frames: found in the worker, and what they say of the stations."""

import numpy as np
import pytest
from PIL import Image

from records.acting import acting_as
from records.intake.arrangement import arrangement
from records.models import Card, Role
from records.queries.sheet import sheet_of
from records.verbs.tower import RowEntry
from survey.markers import Kind, code_for, marker_modules
from survey.square_tags import SIDE_M, tag_number
from tests import made_files
from tests.factory import make_grid, make_member, make_season
from tests.factory_cards import taken_after
from tests.factory_pictures import make_run, make_tower_set_up

pytestmark = pytest.mark.django_db

# Squares of half a metre, a station over the middle of each: row 1 over columns 0 to 3 of row 0 of
# the grid, row 2 back over those of row 1.
SQUARE_M = 0.5
WIDTH, HEIGHT, PX_A_METRE = 480, 320, 800
ROWS = RowEntry(0.25, 0.25, 0.0, 0.5, 4), RowEntry(1.75, 0.75, 180.0, 0.5, 4)
BEGINS, ENDS = Kind.ROW_BEGINS, Kind.ROW_ENDS


@pytest.fixture
def run():
    season = make_season()
    with acting_as(make_member(season.site, Role.LEAD).account):
        size = {"picture_width_px": WIDTH, "picture_height_px": HEIGHT}
        covers = {"footprint_x_m": WIDTH / PX_A_METRE, "footprint_y_m": HEIGHT / PX_A_METRE}
        grid = make_grid(season.site, side_m=SQUARE_M)
        set_up = make_tower_set_up(season, **size, **covers)
        yield make_run(season, *ROWS, set_up=set_up, grid=grid)


def tag(column, row, *, larger=1.0):
    """A square's tag in the middle of the frame, where the square's middle is."""
    return code_for(Kind.SQUARE, tag_number(column, row)), SIDE_M * PX_A_METRE * larger


def board(kind, number):
    return code_for(kind, number), 160


def frame(at_s, shown):
    """Bare sand, or a printed code on it."""
    picture = Image.new("RGB", (WIDTH, HEIGHT), (120, 118, 104))
    for code, side_px in shown:
        printed = np.pad(~marker_modules(code), 1, constant_values=True)
        side = round(side_px * 10 / 8)
        white = Image.fromarray(printed.astype(np.uint8) * 255).resize((side, side), 0)
        picture.paste(white, ((WIDTH - side) // 2, (HEIGHT - side) // 2))
    return made_files.encoded(picture, "JPEG", quality=92, exif=taken_after(at_s))


@pytest.fixture
def bring_in(worked_off):
    return lambda frames: worked_off({at_s: frame(at_s, shown) for at_s, shown in frames.items()})


def stands(card):
    """Station (from 1 over the run) → when its frame was taken."""
    now = arrangement(Card.objects.get(pk=card.pk))
    names = {str(one.pk): int(one.original_name[1:5]) for one in now.frames}
    return {place + 1: names[key] for key, place in sorted(now.laid.on.items(), key=lambda o: o[1])}


def said(card):
    items = sheet_of(card).frames
    return {
        int(one.name[1:5]): " ".join(filter(None, [*one.doubts, one.unsure, *one.said]))
        for one in items
    }


def test_a_tag_anchors_its_row_where_no_board_does(bring_in):
    card = bring_in({0: [], 10: [], 20: [tag(3, 0)], 30: []})

    assert stands(card) == {2: 0, 3: 10, 4: 20, 5: 30}  # in order of time alone: 1 to 4
    assert sheet_of(card).remarks == []  # where row 1 ends, row 2 begins
    assert said(card)[20] == ""


def test_a_tag_that_the_boards_speak_against_is_told(bring_in):
    row = {10: [], 20: [tag(3, 0)], 30: [], 40: []}
    card = bring_in({0: [board(BEGINS, 1)], **row, 50: [board(ENDS, 1)]})

    assert stands(card) == {1: 10, 2: 20, 3: 30, 4: 40}
    label = card.run.grid.label_of(3, 0)
    assert f"tag Square tag {label}, which cannot be seen so from this station" in said(card)[20]
    assert said(card)[30] == ""


def test_a_tag_of_a_square_elsewhere_is_told(bring_in):
    card = bring_in({0: [], 10: [tag(9, 9)], 20: []})

    assert stands(card) == {1: 0, 2: 10, 3: 20}
    assert "which is of no square that this run's rows show" in said(card)[10]


def test_tags_that_do_not_agree_are_not_used(bring_in):
    card = bring_in({0: [], 10: [tag(3, 0)], 20: [tag(0, 0)]})

    assert stands(card) == {1: 0, 2: 10, 3: 20}
    assert "do not agree with each other" in sheet_of(card).remarks[0]


def test_tags_between_rows_and_tags_held_up_stand_on_no_station(bring_in):
    row = {10: [], 20: [], 25: [tag(1, 0, larger=2)], 30: [], 40: []}
    ends = {50: [board(ENDS, 1)], 60: [tag(3, 0)]}
    card = bring_in({0: [board(BEGINS, 1)], **row, **ends})

    assert stands(card) == {1: 10, 2: 20, 3: 30, 4: 40}
    assert said(card)[60] == f"Square tag {card.run.grid.label_of(3, 0)}"
    assert said(card)[25].startswith("Square tag ")


@pytest.mark.parametrize("shown", [(21, 24), (24, 21)])
def test_of_two_frames_the_one_without_a_tag_stands_there(bring_in, shown):
    bare, tagged = shown
    pair = dict(sorted({bare: [], tagged: [tag(1, 0)]}.items()))
    row = {10: [], **pair, 34: [], 44: []}
    card = bring_in({0: [board(BEGINS, 1)], **row, 54: [board(ENDS, 1)]})

    assert stands(card) == {1: 10, 2: bare, 3: 34, 4: 44}
    assert said(card)[tagged].startswith("Square tag ")
    assert "Taken again" not in said(card)[bare]
