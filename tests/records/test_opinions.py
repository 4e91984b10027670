"""Frames measured in the worker, judged on the contact sheet and on the run's page."""

from copy import deepcopy
from dataclasses import replace

import cv2
import pytest
from django.core.files.storage import storages
from django.db import transaction
from django.test import TestCase
from django.urls import reverse

from records.acting import acting_as
from records.intake import measures
from records.intake.arrangement import arrangement
from records.intake.card_opinions import card_opinions
from records.intake.catching_up import catch_up, is_behind
from records.intake.measures import MEASURED, VERSION, features_kept, measures_of
from records.intake.opinions import Flag, run_opinions
from records.intake.seen import pairs_of
from records.intake.wanted import want_measured
from records.jobs import _claim, ask, perform
from records.models import (
    Job,
    JobState,
    PictureMeasure,
    PictureToMake,
    Role,
    RunSeen,
)
from records.progress import Unseen
from records.queries.opinions import opinions_shown, said_of
from records.queries.sheet import sheet_of
from records.queries.verdict import run_verdict
from records.verbs.acceptance import accept_card
from records.verbs.frames import leave_out_frame
from records.verbs.tower import RowEntry
from tests import scenes
from tests.factory import make_goal, make_grid, make_member, make_season, make_square, make_stage
from tests.factory_cards import arrive, begun_card
from tests.factory_pictures import make_run, make_tower_set_up

pytestmark = pytest.mark.django_db

SCENE = scenes.Run(
    61,
    "structured",
    rows=1,
    per_row=5,
    faults={"1/2": scenes.Fault("motion", 14.0, 90.0), "1/4": scenes.Fault("dark", 0.12)},
    slips={"1/5": (0.06, 0.0)},
)


def pictures() -> list[bytes]:
    """The scene's frames as files, in the order of the stations."""
    frames = [SCENE.frame(station) for station in SCENE.stations]
    return [
        cv2.imencode(".jpg", frame, [cv2.IMWRITE_JPEG_QUALITY, 95])[1].tobytes() for frame in frames
    ]


@pytest.fixture(scope="module")
def _made_once(django_db_setup, django_db_blocker):
    """Its five pictures are looked at once; each test has a savepoint of its own."""
    with django_db_blocker.unblock(), transaction.atomic():
        season = make_season()
        lead = make_member(season.site, Role.LEAD).account
        with acting_as(lead):
            yield season, lead, _card_of(_run_of(season))
        transaction.set_rollback(True)


@pytest.fixture
def made(_made_once, db):
    return deepcopy(_made_once)


@pytest.fixture
def season(made):
    return made[0]


@pytest.fixture
def lead(made):
    with acting_as(made[1]):
        yield made[1]


@pytest.fixture
def card(made, lead):
    return made[2]


@pytest.fixture
def run(card):
    return card.run


def _run_of(season):
    """As planned: what the record believes of the scene's tower and stations."""
    set_up = make_tower_set_up(
        season,
        picture_width_px=SCENE.camera.width,
        picture_height_px=SCENE.camera.height,
        footprint_x_m=1.5,
        footprint_y_m=1.0,
    )
    first = SCENE.stations[0]
    row = RowEntry(first.x_m, first.y_m, 0.0, SCENE.step_m, SCENE.per_row)
    return make_run(
        season, row, set_up=set_up, grid=make_grid(season.site), stage=make_stage(season)
    )


def _card_of(run):
    card = begun_card(run)
    with TestCase.captureOnCommitCallbacks(execute=True):
        for n, data in enumerate(pictures()):
            arrive(card, f"P{n:04d}.JPG", data)
    work_off()
    return card


def work_off():
    for job in Job.objects.filter(state=JobState.WAITING).order_by("asked_at"):
        perform(_claim(job.pk))


def test_frames_of_a_card_are_measured_beside_their_pictures(card):
    assert not PictureToMake.objects.exists()
    assert PictureMeasure.objects.filter(recipe_version=VERSION).count() == 5
    incoming = [frame.picture for frame in card.incoming.all()]
    assert len(measures_of(incoming)) == 5
    assert all(len(features_kept(picture).points) > 30 for picture in incoming)

    want_measured(incoming[0])
    assert not PictureToMake.objects.exists()  # what is measured is not asked for again


def test_the_contact_sheet_flags_before_anything_is_numbered(card):
    items = {item.name: item for item in sheet_of(card).items}

    assert [name for name, item in items.items() if item.flags] == ["P0001.JPG", "P0003.JPG"]
    blurred = items["P0001.JPG"]
    assert blurred.flags == ["blurred by movement"]
    assert "movement across the row" in blurred.said[0]
    assert "P0001.JPG" in blurred.said[0]
    assert blurred.sharper.original_name in {"P0000.JPG", "P0002.JPG"}
    assert items["P0003.JPG"].flags == ["too dark"]
    assert sheet_of(card).is_ready  # a flag does not stand in the way of accepting


def test_the_panel_shows_the_sharper_frame_beside_it(client, season, lead, card):
    client.force_login(lead)
    frame = card.incoming.get(original_name="P0001.JPG")

    page = client.get(reverse("card", args=[season.code, card.pk]), {"at": frame.pk})

    assert "Blurred by movement across the row" in page.content.decode()
    assert "A better frame of the same ground" in page.content.decode()
    assert "2 look unfit" in page.content.decode()


@pytest.fixture
def accepted(card, django_capture_on_commit_callbacks):
    with django_capture_on_commit_callbacks(execute=True):
        accept_card(card)
    work_off()
    return card


def test_a_frame_left_out_is_no_longer_judged(run, accepted):
    opinions = run_opinions(run)
    (blurred,) = [one for one in opinions.flagged if Flag.MOTION in opinions.flags(one.pk)]

    leave_out_frame(blurred, "Blurred")

    assert [set(run_opinions(run).flags(one.pk)) for one in run_opinions(run).flagged] == [
        {Flag.DARK}
    ]


def test_the_runs_page_shows_each_flag_beside_the_sharper_frame(
    client, season, lead, run, accepted
):
    client.force_login(lead)

    page = client.get(reverse("run", args=[season.code, run.pk])).content.decode()

    numbers = [frame.photograph.number for frame in run_opinions(run).frames.values()]
    assert f"shows the same ground sharper than {numbers[1]}" in page
    assert f"Too dark: {numbers[3]}" in page
    assert page.count('class="beside"') == 4
    frames = list(run_opinions(run).frames.values())
    for frame, starts in (
        (frames[1], "Blurred by movement"),
        (frames[4], "From row 1, station 5 on"),
    ):
        own = client.get(reverse("photo", args=[season.code, frame.photograph_id]))
        (words,) = said_of(frame)
        assert words.startswith(starts)
        assert words in page
        assert words in own.content.decode()


def test_a_slip_of_the_tower_is_told_by_its_station(run, accepted):
    assert len(pairs_of(run)) == 4
    shown = opinions_shown(run, run_opinions(run))

    assert [words for words in shown.slips if "station 5 on" in words and "along +x" in words]
    ((x_m, y_m),) = run_opinions(run).moved.values()
    assert (x_m, y_m) == pytest.approx((0.06, 0.0), abs=0.015)


def test_the_verdict_sends_the_diver_back_for_the_unfit_frames(run, accepted):
    for column in range(5):
        make_goal(run.stage, make_square(run.grid, column, 0))

    assert len(run_opinions(run).opinion.unfit) == 2
    assert all(0.0 < frame.exposure < 1.0 for frame in run_opinions(run).frames.values())
    assert set(run_verdict(run).again) >= {1, 3}


def test_a_lead_who_looked_may_use_a_frame_all_the_same(client, season, lead, run, accepted):
    for column in range(5):
        make_goal(run.stage, make_square(run.grid, column, 0))
    flagged = run_opinions(run).flagged
    client.force_login(lead, backend="records.sign_in.PasswordBackend")
    url = reverse("frame_trust", args=[season.code, flagged[0].photograph_id])

    assert client.post(url, {"reason": " ", "version": flagged[0].version}).status_code == 422
    told = client.post(url, {"reason": "sharp on the timbers", "version": flagged[0].version})

    assert told.status_code == 303
    assert run_opinions(run).opinion.unfit == {flagged[1].pk}
    page = client.get(told.headers["Location"]).content.decode()
    assert "Used all the same: sharp on the timbers" in page
    leave_out_frame(flagged[0], "blurred after all")
    flagged[0].refresh_from_db()
    assert flagged[0].trusted_reason == ""


def test_frames_not_looked_at_yet_are_counted(run, accepted):
    PictureMeasure.objects.all().delete()
    RunSeen.objects.all().delete()

    shown = opinions_shown(run, run_opinions(run))

    assert shown.well == ""
    assert "5 frames have not been looked at yet." in shown.notes


def test_what_was_never_looked_at_is_looked_at_by_the_next_start(
    run, accepted, django_capture_on_commit_callbacks
):
    """Once: a start that finds nothing missing asks for nothing."""
    PictureMeasure.objects.all().delete()
    RunSeen.objects.all().delete()
    given_up = accepted.frames.first().photograph.picture
    PictureToMake.objects.create(
        file=given_up.file, orientation=given_up.orientation, recipes=MEASURED, words="No."
    )

    for asked in ((4, 0), (0, 0)):
        with django_capture_on_commit_callbacks(execute=True):
            job = ask("catch_up", site=None)
            perform(_claim(job.pk))
            job.refresh_from_db()
            work_off()
        work_off()
        assert (job.result["frames"], job.result["runs"]) == asked

    assert PictureMeasure.objects.filter(recipe_version=VERSION).count() == 4
    assert not is_behind(run)
    row = RunSeen.objects.get(run=run)
    last = str(accepted.frames.last().placement_id)
    row.pairs = [pair for pair in row.pairs if last not in (pair["one"], pair["other"])]
    row.save()
    assert is_behind(run)

    # lost with the derivatives while its measure is kept: looked at again once it is compared
    lost = accepted.frames.last().photograph.picture
    storages["default"].delete(measures.features_name(lost.file, lost.orientation))
    with django_capture_on_commit_callbacks(execute=True):
        assert catch_up(Unseen())["runs"] == 1
    for _seen_then_made_then_seen in range(3):
        with django_capture_on_commit_callbacks(execute=True):
            work_off()
    assert not is_behind(run)
    assert not Job.objects.filter(state=JobState.WAITING).exists()


def test_a_card_on_other_stations_is_judged_there(card):
    now = arrangement(card)
    moved = replace(now, laid=replace(now.laid, on={}, spare=tuple(now.laid.on)))

    assert len(card_opinions(now).judged) == 5
    assert card_opinions(moved).judged == {}


def test_questions_do_not_grow_with_the_frames(run, accepted, django_assert_num_queries):
    with django_assert_num_queries(3):
        run_opinions(run)
