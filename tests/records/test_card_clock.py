"""The camera's clock of a card: against its dive, and by a photographed watch."""

import datetime

import pytest
from django.urls import reverse

from records.acting import acting_as
from records.models import Card, Role
from records.queries.sheet import sheet_of
from tests.factory import make_day, make_dive, make_member, make_season
from tests.factory_cards import FIRST_SHOT, arrive, begun_card, run_of_small_frames, shot

pytestmark = pytest.mark.django_db
UTC = datetime.UTC
LEFT = FIRST_SHOT.replace(tzinfo=UTC) - datetime.timedelta(minutes=5)


@pytest.fixture
def season():
    season = make_season(zone="UTC")
    with acting_as(make_member(season.site, Role.LEAD).account):
        yield season


def card_of(season, *, late_h=0):
    """Of two frames and a dive that began five minutes before them, or hours later than that."""
    left = LEFT + datetime.timedelta(hours=late_h)
    up = left + datetime.timedelta(minutes=40)
    dive = make_dive(make_day(season), left_surface_at=left, reached_surface_at=up)
    card = begun_card(run_of_small_frames(season), dive=dive)
    for n in range(2):
        arrive(card, f"P{n:04d}.JPG", shot(n))
    return card


@pytest.fixture
def post(client, season):
    client.force_login(make_member(season.site, Role.CREW).account)

    def post(card, **said):
        answer = client.post(reverse("card_move", args=[season.code, card.pk]), said)
        return answer, Card.objects.get(pk=card.pk)

    return post


def test_frames_in_their_dive_say_nothing(season):
    sheet = sheet_of(card_of(season))

    assert sheet.clock is None
    assert sheet.clock_proposed_s is None


def test_a_clock_of_another_zone_is_proposed_and_taken_so(season, post):
    card = card_of(season, late_h=2)
    sheet = sheet_of(card)
    assert any("2:00:00 slow" in one for one in sheet.remarks)

    answer, card = post(card, act="clock", fast_by_s=sheet.clock_proposed_s)

    assert answer.status_code == 303
    assert card.clock_offset_s == -7200.0
    assert sheet_of(card).clock is None


@pytest.mark.parametrize(
    ("reads", "fast_s"), [("08:58:00", 420.0), ("09:05:30", -30.0), ("21:04:00", -43140.0)]
)
def test_a_watch_says_how_fast_the_clock_is(season, post, reads, fast_s):
    """The first frame was taken at 09:05:00 by the camera."""
    card = card_of(season)
    frame = card.incoming.get(original_name="P0000.JPG")

    _answer, card = post(card, act="watch", frame=frame.pk, reads=reads)

    assert card.clock_offset_s == fast_s


def test_what_is_not_a_time_is_asked_again(season, post):
    card = card_of(season)
    frame = card.incoming.first()

    for said in {"act": "watch", "reads": "soon"}, {"act": "clock", "fast_by_s": "much"}:
        answer, unchanged = post(card, frame=frame.pk, **said)
        assert answer.status_code == 422
        assert unchanged.clock_offset_s == 0.0


def test_a_frame_without_a_time_cannot_set_the_clock(season, post):
    card = card_of(season)
    frame = card.incoming.select_related("picture").first()
    frame.picture.taken_at = None
    frame.picture.save()

    answer, _card = post(card, act="watch", frame=frame.pk, reads="09:00:00")

    assert "does not say when it was taken" in answer.text
