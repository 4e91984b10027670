"""Frames of a card compared with those before them in the worker, and laid by what they share."""

from functools import cache

import pytest
from PIL import Image

from records.acting import acting_as
from records.intake import alike
from records.intake.alike import BACK, ask_to_compare_card, cards_behind, compare_card
from records.intake.arrangement import arrangement
from records.intake.catching_up import catch_up
from records.intake.seen import compare_run
from records.jobs import _claim, perform
from records.models import Card, CardAlike, Job, JobState, Role
from records.progress import Unseen
from records.queries.accepted_sheet import accepted_sheet
from records.queries.sheet import sheet_of
from records.verbs.acceptance import accept_card
from records.verbs.sheet import leave_out_told
from records.verbs.tower import RowEntry
from tests import made_files, scenes
from tests.factory import make_grid, make_member, make_season, make_stage
from tests.factory_cards import arrive, begun_card, taken_after
from tests.factory_pictures import make_run, make_tower_set_up

pytestmark = pytest.mark.django_db

CAMERA = scenes.Camera(420, 280, 420.0)
SCENE = scenes.Run(307, "structured", rows=1, per_row=6, camera=CAMERA)
EVERY_S = 9
# Station 3 is taken twice at the pace of all others, and station 4 passed over.
TAKEN = [1, 2, 3, 3, 5, 6]
LATER_S = {4: 6, 5: 6}


@cache
def pixels(station):
    return Image.fromarray(SCENE.frame(SCENE.stations[station - 1]))


@cache
def file(station, n):
    """The n-th frame of the card, by a clock of whole seconds."""
    exif = taken_after(EVERY_S * n + LATER_S.get(n, 0))
    return made_files.encoded(pixels(station), "JPEG", quality=93, exif=exif)


@pytest.fixture
def run():
    season = make_season()
    with acting_as(make_member(season.site, Role.LEAD).account):
        set_up = make_tower_set_up(
            season,
            picture_width_px=CAMERA.width,
            picture_height_px=CAMERA.height,
            footprint_x_m=1.5,
            footprint_y_m=1.0,
        )
        first = SCENE.stations[0]
        row = RowEntry(first.x_m, first.y_m, 0.0, SCENE.step_m, SCENE.per_row)
        yield make_run(
            season, row, set_up=set_up, grid=make_grid(season.site), stage=make_stage(season)
        )


@pytest.fixture
def bring_in(django_capture_on_commit_callbacks):
    def bring_in(card, stations, *, first=0):
        with django_capture_on_commit_callbacks(execute=True):
            for n, station in enumerate(stations, first):
                arrive(card, f"P{n:04d}.JPG", file(station, n))
        return card

    return bring_in


@pytest.fixture
def work_off(django_capture_on_commit_callbacks):
    """All that waits, and what that asks for."""

    def work_off():
        while waiting := list(Job.objects.filter(state=JobState.WAITING).order_by("asked_at")):
            with django_capture_on_commit_callbacks(execute=True):
                for job in waiting:
                    perform(_claim(job.pk))

    return work_off


def stands(card):
    """Station from 1 → frame from 0, and frames on none."""
    now = arrangement(Card.objects.get(pk=card.pk))
    names = {str(one.pk): int(one.original_name[1:5]) for one in now.frames}
    on = {at + 1: names[key] for key, at in now.laid.on.items()}
    return dict(sorted(on.items())), sorted(names[key] for key in now.laid.spare)


def test_a_station_taken_again_and_one_passed_over_are_seen_in_the_pictures(
    run, bring_in, work_off
):
    card = bring_in(begun_card(run), TAKEN)
    # by order and times alone every station has its frame, and frame 3 stands wrongly
    assert stands(card) == ({1: 0, 2: 1, 3: 2, 4: 3, 5: 4, 6: 5}, [])
    sheet = sheet_of(card)
    assert sheet.waiting == "Wait: 6 pictures are still being looked at. Stations may change by it."
    before = sheet.state

    work_off()
    assert stands(card) == ({1: 0, 2: 1, 3: 3, 5: 4, 6: 5}, [2])
    sheet = sheet_of(Card.objects.get(pk=card.pk))
    assert (sheet.waiting, sheet.state != before) == ("", True)
    (again,) = sheet.spare
    assert again.doubts == ["Taken again"]
    assert "9 s later: P0003.JPG stands there" in again.said[0]
    assert [gap.station for gap in sheet.passed_over] == ["row 1, station 4"]

    # once the card is accepted, the station is shot again: the better one of two tries is kept
    leave_out_told(card)
    accept_card(card)
    again = bring_in(begun_card(run), [4, 4], first=50)
    assert stands(again) == ({4: 50}, [51])
    work_off()
    assert stands(again) == ({4: 51}, [50])

    # no board says where the row is; the frame shot again lies as it should among those of the row
    (told,) = accepted_sheet(card).remarks
    assert told.startswith("Nothing in its frames says where row 1 is: it may be shifted")
    leave_out_told(again)
    accept_card(again)
    compare_run(Unseen(), str(run.pk))
    sheet = accepted_sheet(again)
    assert sheet.remarks == []
    assert sheet.notes[0].startswith("Row 1 has no board or tag, but its frames show the same")


def test_a_frame_more_costs_only_its_own_pairs_and_who_is_killed_begins_again(
    run, bring_in, work_off, monkeypatch
):
    card = bring_in(begun_card(run), TAKEN[:4])
    seen = []
    compare = alike.shift_between

    def counted(*given):
        seen.append(given)
        if len(seen) == 3:
            raise KeyboardInterrupt
        return compare(*given)

    monkeypatch.setattr(alike, "shift_between", counted)
    monkeypatch.setattr(alike, "KEPT_AFTER", 1)
    work_off()  # killed in the third pair; it is begun again, and the first two are known

    pairs = 3 + 2
    assert len(seen) == pairs + 1
    assert len(CardAlike.objects.get(card=card).pairs) == pairs
    assert stands(card) == ({1: 0, 2: 1, 3: 3}, [2])

    bring_in(card, TAKEN[4:5], first=4)
    work_off()
    assert len(seen) == pairs + 1 + BACK
    assert list(cards_behind()) == []
    CardAlike.objects.all().delete()  # as after a copy of an older season
    assert catch_up(Unseen())["cards"] == 1
    compare_card(Unseen(), str(card.pk))
    assert len(seen) == 2 * (pairs + BACK) + 1
    assert list(cards_behind()) == []


def test_a_picture_that_was_looked_at_before_is_compared_all_the_same(
    run, bring_in, work_off, django_capture_on_commit_callbacks
):
    bring_in(begun_card(run), TAKEN[:2])
    work_off()
    other = bring_in(begun_card(run), TAKEN[:2])
    assert Job.objects.filter(kind="alike", state=JobState.WAITING).count() == 1
    assert sheet_of(other).waiting == (
        "Wait: frames are being compared. Their stations may change by it."
    )
    work_off()

    assert len(CardAlike.objects.get(card=other).pairs) == 1
    with django_capture_on_commit_callbacks(execute=True):
        ask_to_compare_card(other)
        ask_to_compare_card(other)
    assert Job.objects.filter(kind="alike", state=JobState.WAITING).count() == 1
