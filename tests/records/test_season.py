"""Sites, seasons, closing in two steps, releases, the anchor: their verbs and queries."""

import datetime
import uuid

import pytest
from django.core.exceptions import PermissionDenied

from records.acting import acting_as
from records.models import (
    Audience,
    Membership,
    Phase,
    Release,
    Released,
    Role,
    SeasonEvent,
    SiteAnchor,
)
from records.permissions import is_released
from records.queries.season import season_to_open, standing
from records.refusals import Closed, Conflict, Refused, Stale
from records.verbs import season as verbs
from records.verbs.season import SeasonSays
from records.verbs.site import edit_site, make_site, set_anchor
from tests.factory import make_account, make_day, make_dive, make_member, make_season
from tests.factory import make_site as site_row

pytestmark = pytest.mark.django_db


@pytest.fixture
def season():
    return make_season()


@pytest.fixture
def director(season):
    account = make_member(season.site, Role.DIRECTOR, initials="DD").account
    with acting_as(account):
        yield account


def says(**changes):
    return SeasonSays(
        **{
            "code": "HER31",
            "name": "Heron 2031",
            "starts_on": datetime.date(2031, 6, 1),
            "ends_on": datetime.date(2031, 6, 20),
            "zone": "Europe/Lisbon",
        }
        | changes
    )


def says_of(season, **changes):
    return says(
        **{name: getattr(season, name) for name in SeasonSays.__dataclass_fields__} | changes
    )


def happens(verb, season, reason="enough"):
    return verb(season, pk=uuid.uuid4(), reason=reason)


# Sites ----------------------------------------------------------------------------------------


def test_an_administrator_makes_a_site_and_is_its_director():
    keeper, pk = make_account(is_administrator=True), uuid.uuid4()
    with acting_as(keeper):
        site = make_site(pk=pk, code="Heron", name="Heron wreck", initials="is")
        assert make_site(pk=pk, code="heron", name="Heron wreck", initials="is") == site

    member = Membership.objects.get()
    assert (site.code, member.account, member.role) == ("heron", keeper, Role.DIRECTOR)


@pytest.mark.parametrize("account", [None, "director"])
def test_nobody_else_makes_a_site(account, season):
    acting = account and make_member(season.site, Role.DIRECTOR).account
    with acting_as(acting), pytest.raises(PermissionDenied):
        make_site(pk=uuid.uuid4(), code="x", name="x", initials="x")


def test_a_site_code_is_taken_once_and_nothing_is_left_half_written():
    site_row(code="heron")
    with acting_as(make_account(is_administrator=True)), pytest.raises(Refused) as refusal:
        make_site(pk=uuid.uuid4(), code="heron", name="x", initials="x")

    assert refusal.value.field == "code"
    assert not Membership.objects.exists()


def test_object_names_are_tidied_and_never_none(season, director):
    said = {"name": "Heron", "description": ""}

    site = edit_site(season.site, 1, object_names=[" jar ", "", "bowl", "jar"], **said)

    assert site.object_names == ["jar", "bowl"]
    with pytest.raises(Stale):
        edit_site(season.site, 1, object_names=["jar"], **said)
    with pytest.raises(Refused) as refusal:
        edit_site(season.site, 2, object_names=[" "], **said)
    assert refusal.value.field == "object_names"


# The anchor -----------------------------------------------------------------------------------


def anchor(season, replaces=None, **changes):
    said = {"latitude_deg": 37.5, "longitude_deg": -8.25} | changes
    return set_anchor(season.site, pk=uuid.uuid4(), replaces=replaces, **said)


def test_a_new_anchor_makes_the_former_void_with_its_reason(season, director):
    former = anchor(season)

    new = anchor(season, former.pk, latitude_deg=37.6, reason="better fix")

    former.refresh_from_db()
    assert former.void_reason == "better fix"
    assert SiteAnchor.objects.standing().get() == new


def test_an_anchor_set_by_another_meanwhile_is_not_overwritten(season, director):
    first = anchor(season)
    anchor(season, first.pk, latitude_deg=37.6, reason="better fix")

    for seen in (None, first.pk):
        with pytest.raises(Conflict):
            anchor(season, seen, latitude_deg=10, reason="late")
    assert SiteAnchor.objects.standing().get().latitude_deg == 37.6


def test_an_anchor_off_the_earth_is_refused_and_the_former_stands(season, director):
    former = anchor(season)

    with pytest.raises(Refused, match="between"):
        anchor(season, former.pk, latitude_deg=91, reason="typo")

    assert SiteAnchor.objects.standing().get() == former


# Seasons --------------------------------------------------------------------------------------


def test_a_season_is_made_once_and_its_code_is_unique_whatever_its_capitals(season, director):
    pk = uuid.uuid4()
    made = verbs.make_season(season.site, pk=pk, says=says())

    assert verbs.make_season(season.site, pk=pk, says=says()) == made
    with pytest.raises(Conflict):
        verbs.make_season(season.site, pk=pk, says=says(name="Other"))
    with pytest.raises(Refused) as refusal:
        verbs.make_season(season.site, pk=uuid.uuid4(), says=says(code="her31"))
    assert refusal.value.field == "code"


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"ends_on": datetime.date(2031, 5, 31)}, "ends_on"),
        ({"zone": "Heron/Bay"}, "zone"),
        ({"code": "two words"}, "code"),
        ({"coverage_needed_fraction": 1.2}, None),
    ],
)
def test_impossible_seasons_are_refused(season, director, changes, field):
    with pytest.raises(Refused) as refusal:
        verbs.make_season(season.site, pk=uuid.uuid4(), says=says(**changes))
    assert refusal.value.field == field


def test_once_dives_are_logged_code_and_zone_stay(season, director):
    moved = verbs.edit_season(season, 1, says=says_of(season, code="new-code", zone="UTC"))
    make_dive(make_day(moved))

    for field, value in (("code", "newer"), ("zone", "Europe/Oslo")):
        with pytest.raises(Refused) as refusal:
            verbs.edit_season(moved, 2, says=says_of(moved, **{field: value}))
        assert refusal.value.field == field
    assert verbs.edit_season(moved, 2, says=says_of(moved, name="Renamed")).name == "Renamed"


def test_a_stale_save_of_settings_is_refused(season, director):
    verbs.edit_season(season, 1, says=says_of(season, name="Mine"))
    with pytest.raises(Stale):
        verbs.edit_season(season, 1, says=says_of(season, name="Theirs"))


# Closing --------------------------------------------------------------------------------------


def test_a_season_closes_in_two_steps_and_opens_again(season, director):
    for verb, phase in (
        (verbs.close_fieldwork, Phase.FIELDWORK_CLOSED),
        (verbs.deposit_archive, Phase.DEPOSITED),
        (verbs.reopen, Phase.OPEN),
        (verbs.close_fieldwork, Phase.FIELDWORK_CLOSED),
    ):
        happens(verb, season)
        assert season.phase() == phase


def test_a_deposit_needs_closed_fieldwork(season, director):
    with pytest.raises(Refused, match="fieldwork first"):
        happens(verbs.deposit_archive, season)


def test_closing_twice_is_told_but_a_double_submit_is_one(season, director):
    pk = uuid.uuid4()
    event = verbs.close_fieldwork(season, pk=pk, reason="enough")

    assert verbs.close_fieldwork(season, pk=pk, reason="enough") == event
    with pytest.raises(Closed):
        happens(verbs.close_fieldwork, season)
    happens(verbs.deposit_archive, season)
    with pytest.raises(Closed):
        happens(verbs.deposit_archive, season)


def test_nothing_closes_over_a_dive_under_way(season, director):
    dive = make_dive(make_day(season), reached_surface_at=None)

    with pytest.raises(Refused, match=dive.number):
        happens(verbs.close_fieldwork, season)


def test_an_open_season_takes_neither_reopening_nor_addenda(season, director):
    for verb in (verbs.reopen, verbs.add_addendum):
        with pytest.raises(Conflict):
            happens(verb, season)


def test_an_addendum_leaves_the_phase_as_it_is(season, director):
    happens(verbs.close_fieldwork, season)
    happens(verbs.deposit_archive, season)

    happens(verbs.add_addendum, season, "Find 12 is a lead weight.")

    assert season.phase() == Phase.DEPOSITED


@pytest.mark.parametrize("reason", ["", "   "])
def test_every_step_says_why(season, director, reason):
    with pytest.raises(Refused) as refusal:
        happens(verbs.close_fieldwork, season, reason)
    assert refusal.value.field == "reason"


def test_a_clock_that_runs_behind_is_told_instead_of_believed(season, director):
    event = happens(verbs.close_fieldwork, season)
    event.made_at += datetime.timedelta(days=1)
    event.save()

    with pytest.raises(Refused, match="clock"):
        happens(verbs.reopen, season)
    assert SeasonEvent.objects.count() == 1


def test_only_the_director_closes(season):
    with acting_as(make_member(season.site, Role.LEAD).account), pytest.raises(PermissionDenied):
        happens(verbs.close_fieldwork, season)


# Releases -------------------------------------------------------------------------------------


def test_a_release_opens_and_its_withdrawal_closes(season, director):
    said = {"what": Released.POSITIONS, "audience": Audience.READERS}
    released = verbs.release(season, pk=uuid.uuid4(), **said)
    assert is_released(season, Released.POSITIONS)

    with pytest.raises(Conflict):
        verbs.release(season, pk=uuid.uuid4(), **said)
    verbs.withdraw_release(released, reason="a mistake")

    assert not is_released(season, Released.POSITIONS)
    assert Release.objects.get().void_reason == "a mistake"


# Where a season stands ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("day", "expected"),
    [
        ((2031, 5, 29), (0, 3, 0)),
        ((2031, 6, 1), (1, 0, 0)),
        ((2031, 6, 20), (20, 0, 0)),
        ((2031, 6, 22), (0, 0, 2)),
    ],
)
def test_where_a_season_stands(day, expected):
    season = make_season(starts_on=datetime.date(2031, 6, 1), ends_on=datetime.date(2031, 6, 20))

    stands = standing(season, datetime.date(*day))

    assert (stands.day, stands.days_until, stands.days_since) == expected
    assert stands.of == 20


def test_home_opens_the_season_that_runs_else_the_last_else_the_next(monkeypatch):
    today = datetime.date(2031, 6, 10)
    monkeypatch.setattr("records.models.Season.today", lambda self: today)

    def at(first, last):
        days = datetime.timedelta
        return make_season(starts_on=today + days(first), ends_on=today + days(last))

    past, older, now, soon = at(-30, -20), at(-400, -380), at(-2, 5), at(3, 9)

    assert season_to_open([soon, past, now, older]) == now
    assert season_to_open([soon, older, past]) == past
    assert season_to_open([soon]) == soon
    assert season_to_open([]) is None
