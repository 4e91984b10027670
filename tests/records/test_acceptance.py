"""A card accepted: numbers in the order of the stations, places, coverage, all or none."""

import datetime

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from records.acting import acting_as
from records.models import (
    Card,
    CardState,
    Frame,
    FrameOnSquare,
    NumberCounter,
    Photograph,
    PhotoKind,
    Picture,
    Placement,
    Role,
    SquareCoverage,
)
from records.refusals import Conflict, Refused, Unlikely
from records.verbs import acceptance
from records.verbs.acceptance import accept_card
from records.verbs.cards import note_listing
from records.verbs.coverage import recount
from records.verbs.sheet import leave_out, move_on
from records.verbs.tower import RowEntry
from tests import made_files
from tests.factory import (
    make_diver,
    make_goal,
    make_grid,
    make_member,
    make_square,
    make_stage,
)
from tests.factory_cards import arrive, arrive_all, begun_card, key_of, run_of_small_frames, shot

TWO_ROWS = (RowEntry(0.5, 0.5, 0.0, 1.0, 3), RowEntry(2.5, 1.5, 180.0, 1.0, 3))


@pytest.fixture
def run(season):
    """Two rows of three stations a metre apart, there and back, over six squares of a metre."""
    grid, stage = make_grid(season.site), make_stage(season)
    for column in range(3):
        for row in range(2):
            make_goal(stage, make_square(grid, column, row))
    return run_of_small_frames(season, *TWO_ROWS, grid=grid, stage=stage)


def in_order(card: Card) -> list[tuple]:
    frames = Frame.objects.filter(card=card).order_by("photograph__n")
    return [
        (f.photograph.n, f.row and f.row.order, f.station, f.photograph.picture.original_name)
        for f in frames.select_related("photograph__picture", "row")
    ]


def test_numbers_follow_the_stations_not_the_arrival(card):
    for n in (4, 1, 0, 3, 2):
        arrive(card, f"P{n:04d}.JPG", shot(n))
    accept_card(card)

    assert in_order(card) == [
        (1, 1, 1, "P0000.JPG"),
        (2, 1, 2, "P0001.JPG"),
        (3, 1, 3, "P0002.JPG"),
        (4, 2, 1, "P0003.JPG"),
        (5, 2, 2, "P0004.JPG"),
    ]
    photograph = Photograph.objects.get(n=1)
    assert (photograph.kind, photograph.stage, photograph.dive) == (
        PhotoKind.FRAME,
        card.run.stage,
        card.dive,
    )
    assert photograph.search_text == "1 p0000.jpg"
    assert photograph.history.get().history_user == photograph.made_by


def test_a_frame_left_out_is_a_photograph_too_before_its_second_try(season, run):
    diver = make_diver(season.site)
    card = begun_card(run, photographer=diver)
    frames = arrive_all(card, 4)
    leave_out(card, frames[1].pk, "tower moved", close_up=True)
    accept_card(card)

    assert in_order(card) == [
        (1, 1, 1, "P0000.JPG"),
        (2, 1, 2, "P0001.JPG"),
        (3, 1, 2, "P0002.JPG"),
        (4, 1, 3, "P0003.JPG"),
    ]
    spoilt = Frame.objects.get(photograph__n=2)
    assert (spoilt.is_kept, spoilt.left_out_reason) == (False, "tower moved")
    assert spoilt.placement is None
    assert {one.photographer for one in Photograph.objects.all()} == {diver}


def test_placements_and_coverage_stand_with_the_acceptance(run, card):
    arrive_all(card, 6)
    accept_card(card)

    # footprint 1.5 × 1 m about each station, a metre apart: every square is covered whole
    fractions = SquareCoverage.objects.filter(stage=run.stage).values_list("fraction", flat=True)
    assert list(fractions) == pytest.approx([1.0] * 6)
    first = Frame.objects.get(photograph__n=1)
    assert first.placement.picture == first.photograph.picture
    assert first.placement.grid == run.grid
    # (0.5, 0.5), 1.5 m over 72 px: the middle of the first pixel, and the size of a pixel
    h = first.placement.h
    assert [h[0], h[2], h[4], h[5]] == pytest.approx(
        [1.5 / 72, 0.5 - 0.75 + 1.5 / 144, -1 / 48, 0.5 + 0.5 - 1 / 96]
    )


def test_a_station_passed_over_leaves_its_hole(run, card):
    frames = arrive_all(card, 5)
    move_on(card, frames[1].pk)
    accept_card(card)

    # station 2 of row 1 has none: its neighbours reach 0.25 m into the square from both sides
    passed = SquareCoverage.objects.get(stage=run.stage, square__column=1, square__row=0)
    assert passed.fraction == pytest.approx(0.5)
    told = {(row.square_id, round(row.fraction, 9)) for row in SquareCoverage.objects.all()}
    recount(run.season)
    assert told == {(row.square_id, round(row.fraction, 9)) for row in SquareCoverage.objects.all()}


def test_raw_files_are_paired_by_path_and_those_without_a_picture_stay_listed(season, card):
    arrive(card, "100/P0000.JPG", shot(0))
    arrive(card, "100/P0000.DNG", made_files.raw(1))
    arrive(card, "101/P0000.DNG", made_files.raw(2))
    accept_card(card)

    picture = Photograph.objects.get().picture
    assert picture.raw_file == card.incoming.get(original_name="100/P0000.DNG").file
    alone = card.incoming.get(original_name="101/P0000.DNG")
    assert alone.picture.file == alone.file
    assert Picture.objects.filter(site=season.site).count() == 2


def test_the_cameras_clock_is_corrected_and_what_it_said_is_kept(season, run):
    card = begun_card(run, clock_offset_s=90)
    arrive_all(card, 1)
    accept_card(card)

    picture = Photograph.objects.get().picture
    shown = datetime.datetime(2031, 6, 10, 9, 3, 30, tzinfo=season.tz)
    assert picture.taken_at == shown
    assert picture.exif["taken_local"].startswith("2031-06-10T09:05:00")


def test_a_second_tap_is_answered_like_the_first_and_another_person_is_told(season, card):
    arrive_all(card, 2)
    accept_card(card)

    assert accept_card(card).state == CardState.ACCEPTED
    other = make_member(season.site, Role.CREW).account
    with acting_as(other), pytest.raises(Conflict, match=r"Person \d+ accepted this card at"):
        accept_card(card)
    assert Photograph.objects.count() == 2


def test_nothing_is_accepted_that_was_not_seen(card):
    arrive_all(card, 2)
    seen = acceptance.arrangement(card).seen
    arrive_all(card, 1, first=2)

    with pytest.raises(Conflict, match="changed since you looked"):
        accept_card(card, seen=seen)
    with pytest.raises(Refused, match="No file of this card"):
        accept_card(begun_card(card.run))


def test_listed_files_that_have_not_come_in_are_asked_once(card):
    note_listing(card, [key_of(f"P{n:04d}.JPG", shot(n)) for n in range(3)])
    arrive_all(card, 2)

    with pytest.raises(Unlikely) as asked:
        accept_card(card)
    (words,) = asked.value.questions.values()
    assert "1 file that was listed has not come in: P0002.JPG" in words
    assert accept_card(card, answers=asked.value.questions).state == CardState.ACCEPTED


def test_a_failure_half_way_leaves_nothing(card, monkeypatch):
    arrive_all(card, 3)

    def fail(*_arguments):
        raise RuntimeError("the power went")

    monkeypatch.setattr(acceptance, "recount_squares", fail)
    with pytest.raises(RuntimeError, match="power"):
        accept_card(card)

    card.refresh_from_db()
    assert card.state == CardState.ARRIVING
    assert [model.objects.count() for model in (Photograph, Frame, FrameOnSquare)] == [0, 0, 0]
    assert Placement.objects.filter(picture__isnull=False).count() == 0
    assert NumberCounter.objects.filter(kind="photo").count() == 0


def test_accepting_costs_no_more_statements_for_more_frames(run):
    counts = []
    for number in (2, 8):
        row = RowEntry(0.5, 9.5, 0.0, 0.01, 30)
        small = run_of_small_frames(run.season, row, grid=run.grid, stage=run.stage)
        card = begun_card(small)
        for n in range(number):
            arrive(card, f"P{n:04d}.JPG", shot(n, seed=number * 100 + n))
        with CaptureQueriesContext(connection) as seen:
            accept_card(card)
        counts.append(len(seen))

    assert counts[1] <= counts[0]
