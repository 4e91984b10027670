"""What must hold between tablets, tried by eight real processes at one moment.

On PostgreSQL as on SQLite: the database is a file or a server, never memory.
"""

import datetime

import pytest
from django.db.models import Sum

from records.models import Dive, DiveMember, Diver, NumberCounter, NumberKind, Role
from tests.factory import make_account, make_day, make_diver, make_member, make_season
from tests.racing import PROCESSES, race

pytestmark = pytest.mark.django_db(transaction=True)

DAY = datetime.date(2024, 6, 10)  # gone by: a dive cannot lie in the future


def a_season(site=None):
    return make_season(site, starts_on=DAY, ends_on=DAY + datetime.timedelta(days=20))


def test_numbers_are_given_once_each_and_without_a_gap():
    season = a_season()

    taken = race("tests.racers:number", [(season.pk, 30)] * PROCESSES)

    assert sorted(number for one in taken for number in one) == list(range(1, 241))
    assert all(one == sorted(one) for one in taken)
    assert NumberCounter.objects.get(season=season, kind=NumberKind.DIVE).last == 240


def test_of_eight_saves_over_one_version_one_wins_and_seven_are_told():
    account, site = make_account(), a_season().site
    divers = [make_diver(site) for _diver in range(20)]
    keys = [diver.pk for diver in divers]
    names = [f"Name {index}" for index in range(PROCESSES)]

    outcomes = race("tests.racers:rename", [(account.pk, keys, name) for name in names])

    for diver, told in zip(divers, zip(*outcomes, strict=True), strict=True):
        (won,) = set(told) - {"Stale"}
        assert sorted(told) == sorted([won, *["Stale"] * (PROCESSES - 1)])
        diver.refresh_from_db()
        assert (diver.name, diver.version) == (won, 2)
        assert Diver.history.filter(id=diver.pk).count() == 2


def test_a_diver_is_in_one_dive_at_a_time_even_across_seasons():
    first = a_season()
    site = first.site
    days = [make_day(season, date=DAY) for season in (first, a_season(site))]
    account = make_member(site, Role.CREW).account
    pair = [make_diver(site).pk for _diver in range(2)]
    hours = list(range(8, 14))

    outcomes = race(
        "tests.racers:dive",
        [(account.pk, days[turn % 2].pk, pair, hours) for turn in range(PROCESSES)],
    )

    for told in zip(*outcomes, strict=True):
        refused = [words for words in told if "was in the water on dive" in words]
        assert len(refused) == PROCESSES - 1, told
    assert Dive.objects.count() == len(hours)
    assert DiveMember.objects.count() == 2 * len(hours)
    assert NumberCounter.objects.aggregate(given=Sum("last"))["given"] == len(hours)
