"""Diving days through their verbs."""

import datetime
import uuid
from dataclasses import replace

import pytest
from django.core.exceptions import PermissionDenied

from records.acting import acting_as
from records.models import DivingDay, Role, SupervisorShift
from records.queries.day_changes import day_changed_since, day_entry_of, day_history
from records.refusals import Conflict, Faults, Refused, SavedAlready, Stale, Unlikely
from records.verbs.day_entry import DayEntry, ShiftEntry
from records.verbs.days import edit_day, open_day, void_day
from tests.factory import DAY, make_dive, make_member, make_season

pytestmark = pytest.mark.django_db


@pytest.fixture
def season():
    """A season that is running today."""
    today = datetime.datetime.now(datetime.UTC).date()
    days = datetime.timedelta(days=10)
    return make_season(starts_on=today - days, ends_on=today + days)


@pytest.fixture
def entry(season):
    return DayEntry(
        date=season.today(),
        vessel="Gannet",
        place="over the wreck",
        contractor="Own team",
        weather="overcast",
        supervisors=(
            ShiftEntry("Ana Reis", datetime.time(8), datetime.time(13)),
            ShiftEntry("Tom Vane", datetime.time(13)),
        ),
    )


def opened(season, entry, **more):
    return open_day(season, entry, more.pop("key", uuid.uuid4()), **more)


def test_a_day_keeps_everything_that_was_said(crew, season, entry):
    day = opened(season, entry)

    assert day.made_by == crew
    assert day_entry_of(day).settled() == entry.settled()


def test_the_same_form_sent_twice_is_one_day(crew, season, entry):
    key = uuid.uuid4()
    day = opened(season, entry, key=key)

    assert opened(season, entry, key=key) == day
    with pytest.raises(SavedAlready):
        opened(season, replace(entry, weather="rain"), key=key)
    assert DivingDay.objects.count() == 1


def test_a_day_is_open_once_a_date_and_vessel(crew, season, entry):
    opened(season, entry)

    with pytest.raises(Faults) as told:
        opened(season, replace(entry, vessel=" gannet", supervisors=entry.supervisors[:1]))
    assert dict(told.value.found).keys() == {"vessel"}
    shifts = (ShiftEntry("Ana Reis", datetime.time(8)),)
    assert opened(season, replace(entry, vessel="Tern", supervisors=shifts)).vessel == "Tern"


@pytest.mark.parametrize(
    ("change", "place"),
    [
        ({"place": ""}, "place"),
        ({"contractor": " " * 121}, "contractor"),
        ({"hours_lost": 25, "hours_lost_reason": "gale"}, "hours_lost"),
        ({"hours_lost": 2}, "hours_lost_reason"),
        (
            {"supervisors": (ShiftEntry("A", datetime.time(9), datetime.time(9)),)},
            "supervisors.0.to_time",
        ),
        ({"supervisors": (ShiftEntry(" ", datetime.time(9)),)}, "supervisors.0.name"),
    ],
)
def test_what_cannot_be_is_refused_beside_its_field(crew, season, entry, change, place):
    with pytest.raises(Faults) as told:
        opened(season, replace(entry, **change))
    assert place in dict(told.value.found)
    assert DivingDay.objects.count() == SupervisorShift.objects.count() == 0


@pytest.mark.parametrize(
    ("days", "supervised", "key"),
    [(1, True, "date"), (11, True, "date"), (-11, True, "date"), (0, False, "supervisors")],
)
def test_what_is_unlikely_is_asked_once(crew, season, entry, days, supervised, key):
    doubtful = replace(entry, date=season.today() + datetime.timedelta(days))
    if not supervised:
        doubtful = replace(doubtful, supervisors=())
    with pytest.raises(Unlikely) as told:
        opened(season, doubtful)
    assert set(told.value.questions) == {key}

    day = opened(season, doubtful, answers=told.value.questions)

    assert day.answers[key]["name"] == crew.name


def test_an_edit_with_a_changed_supervisor_is_one_version(crew, season, entry):
    day = opened(season, entry)
    first, second = entry.supervisors
    changed = replace(entry, weather="rain", supervisors=(replace(first, to_time=None),))

    edit_day(day, changed, 1)

    day.refresh_from_db()
    assert (day.version, day_entry_of(day).settled()) == (2, changed.settled())
    assert SupervisorShift.history.filter(id=second.id, history_type="-").exists()
    changes = {(change.label, change.was, change.now) for change in day_history(day)[0].changes}
    assert changes == {
        ("weather", "overcast", "rain"),
        (
            "diving supervisors",
            "Ana Reis 08:00–13:00, Tom Vane 13:00–",
            "Ana Reis 08:00–",
        ),
    }


def test_a_stale_save_is_told_what_changed(crew, season, entry):
    day = opened(season, entry)
    edit_day(day, replace(entry, weather="rain"), 1)

    with pytest.raises(Stale):
        edit_day(day, replace(entry, diary="Long day."), 1)
    (change,) = day_changed_since(day, 1)
    assert (change.was, change.now) == ("overcast", "rain")
    assert edit_day(day, replace(entry, weather="rain"), 1).version == 2


def test_a_day_keeps_its_date_while_dives_stand_on_it(crew, season, entry):
    day = opened(season, entry)
    make_dive(day)

    with pytest.raises(Faults):
        edit_day(day, replace(entry, date=DAY), 1)


def test_only_a_lead_voids_a_day_and_not_while_dives_stand_on_it(crew, season, entry):
    day = opened(season, entry)
    dive = make_dive(day)
    with pytest.raises(PermissionDenied):
        void_day(day, "twice")

    with acting_as(make_member(season.site, Role.LEAD).account):
        with pytest.raises(Refused, match="1"):
            void_day(day, "twice")
        dive.voided_at, dive.voided_by, dive.void_reason = dive.made_at, crew, "twice"
        dive.save()
        assert void_day(day, "twice").is_voided
    with pytest.raises(Conflict):
        edit_day(day, replace(entry, weather="rain"), 2)
    assert opened(season, entry_with_fresh_rows(entry)).vessel == "Gannet"


def entry_with_fresh_rows(entry):
    shifts = tuple(replace(shift, id=uuid.uuid4()) for shift in entry.supervisors)
    return replace(entry, supervisors=shifts)
