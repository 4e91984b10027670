"""One diver cannot be in two dives at once, whoever is quicker: real processes, both databases."""

import datetime
import time
import uuid
from contextlib import contextmanager
from unittest import mock

import pytest

from records.acting import acting_as
from records.models import Account, Dive, Diver, DivingDay, Role, Season
from records.refusals import Faults
from records.verbs import dives
from records.verbs.dive_entry import DiveEntry, MemberEntry
from records.verbs.dives import log_dive
from tests.factory import make_day, make_diver, make_member, make_season
from tests.racing import PROCESSES, race

pytestmark = [pytest.mark.slow, pytest.mark.django_db(transaction=True)]

DATE = datetime.date(2025, 6, 10)  # gone by: a dive ahead of its time is refused
LEFT = datetime.datetime(2025, 6, 10, 8, 5, tzinfo=datetime.UTC)


def log_one(season: uuid.UUID, account: uuid.UUID, divers: list[uuid.UUID], minute: int) -> str:
    """What one tablet does; runs in a process of its own."""
    day = DivingDay.objects.get(season=season)
    entry = DiveEntry(
        day=day,
        left_surface_at=LEFT + datetime.timedelta(minutes=minute),
        reached_surface_at=LEFT + datetime.timedelta(minutes=minute + 40),
        greatest_depth_m=18,
        members=tuple(MemberEntry(Diver.objects.get(pk=diver)) for diver in divers),
    )
    with acting_as(Account.objects.get(pk=account)), slow_laptop():
        try:
            return f"dive {log_dive(day.season, entry, uuid.uuid4()).n}"
        except Faults as refusal:
            return refusal.words


@contextmanager
def slow_laptop():
    """Time passes between asking and writing, so that nothing but a lock can keep them together."""
    write = dives.write_dive

    def later(*said):
        time.sleep(0.2)
        return write(*said)

    with mock.patch.object(dives, "write_dive", later):
        yield


def season_with_a_day(site=None) -> Season:
    days = datetime.timedelta(days=5)
    season = make_season(site, starts_on=DATE - days, ends_on=DATE + days)
    make_day(season, date=DATE)
    return season


def test_one_of_eight_overlapping_dives_with_the_same_diver_is_accepted():
    season = season_with_a_day()
    account = make_member(season.site, Role.CREW).account
    shared = make_diver(season.site, initials="NO")
    tablets = [
        (season.pk, account.pk, [make_diver(season.site).pk, shared.pk], minute)
        for minute in range(PROCESSES)
    ]

    told = race("tests.records.test_dive_races:log_one", tablets)

    assert told.count("dive 1") == 1
    assert sum("NO was in the water on dive 1" in words for words in told) == PROCESSES - 1
    assert Dive.objects.count() == 1


def test_two_seasons_of_a_site_cannot_both_have_the_diver():
    """Here only the lock on the diver's own row stands between the two."""
    seasons = [season_with_a_day()]
    site = seasons[0].site
    seasons.append(season_with_a_day(site))
    account = make_member(site, Role.CREW).account
    shared = make_diver(site, initials="NO")
    tablets = [
        (seasons[minute % 2].pk, account.pk, [make_diver(site).pk, shared.pk], minute)
        for minute in range(PROCESSES)
    ]

    told = race("tests.records.test_dive_races:log_one", tablets)

    assert told.count("dive 1") == 1
    assert Dive.objects.count() == 1
