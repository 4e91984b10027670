"""The records' common rules: keys, versions, voiding, history, guard, numbers."""

import pytest
from django.core.exceptions import PermissionDenied
from django.db import IntegrityError, models, transaction

from records import models as door
from records.acting import acting_as
from records.models import NumberKind, Role, SeasonEvent
from records.models.base import Record
from records.permissions import May
from records.refusals import Closed, Conflict, Stale
from records.verbs.guard import UNTIL_FIELDWORK_CLOSED, VERBS, current, made_before, verb, void
from records.verbs.numbers import take_numbers
from tests.factory import make_account, make_diver, make_member, make_season, make_site


def concrete_records() -> list[type[models.Model]]:
    return [
        model
        for name in door.__all__
        if isinstance(model := getattr(door, name), type)
        and issubclass(model, Record)
        and not model._meta.abstract
    ]


def test_every_record_keeps_history_and_protects_what_it_points_to():
    records = concrete_records()

    assert len(records) > 40
    assert [model for model in records if not hasattr(model, "history")] == []
    assert [
        field
        for model in records
        for field in model._meta.get_fields()
        if isinstance(field, models.ForeignKey)
        and field.remote_field.on_delete is not models.PROTECT
    ] == []


@pytest.mark.django_db
def test_a_record_says_who_made_it_and_counts_its_versions():
    account = make_account()
    with acting_as(account):
        diver = make_diver(make_site())
        diver.name = "Another"
        diver.save()

    assert diver.made_by == account
    assert diver.version == 2
    assert [row.history_user for row in diver.history.all()] == [account, account]


@pytest.mark.django_db
def test_a_half_voided_record_is_refused_by_the_database():
    diver = make_diver(make_site())
    diver.void_reason = "no date, nobody"

    with pytest.raises(IntegrityError), transaction.atomic():
        diver.save()


@pytest.mark.django_db
def test_numbers_are_never_reused_and_count_by_kind():
    season = make_season()

    with transaction.atomic():
        assert list(take_numbers(season, NumberKind.DIVE, 3)) == [1, 2, 3]
        assert list(take_numbers(season, NumberKind.FIND, 1)) == [1]
    with transaction.atomic():
        assert list(take_numbers(season, NumberKind.DIVE, 1)) == [4]


@pytest.fixture
def rename():
    """A verb made for the test, taken off the list afterwards."""

    @verb(May.LEAD, UNTIL_FIELDWORK_CLOSED)
    def rename_season(season, name):
        season.name = name
        season.save()
        return season

    yield rename_season
    VERBS.pop(rename_season.verb.name)


@pytest.mark.django_db
def test_a_verb_asks_the_permission_first(rename):
    season = make_season()
    crew = make_member(season.site, Role.CREW).account
    lead = make_member(season.site, Role.LEAD).account

    with acting_as(crew), pytest.raises(PermissionDenied):
        rename(season, "no")
    with acting_as(lead):
        assert rename(season, "yes").name == "yes"


@pytest.mark.django_db
@pytest.mark.parametrize("kind", ["fieldwork_closed", "deposited"])
def test_a_closed_season_takes_nothing_and_a_reopened_one_does(rename, kind):
    season = make_season()
    with acting_as(make_member(season.site, Role.DIRECTOR).account):
        SeasonEvent.objects.create(season=season, kind=kind, reason="done")
        with pytest.raises(Closed):
            rename(season, "late")
        SeasonEvent.objects.create(season=season, kind="reopened", reason="a find")

        assert rename(season, "again").name == "again"


@pytest.mark.django_db
def test_a_stale_save_is_refused_and_a_borrowed_key_too():
    site = make_site()
    with acting_as(make_account()):
        diver = make_diver(site)
        diver.save()
        with pytest.raises(Stale):
            current(type(diver), diver.pk, seen_version=1)
        assert current(type(diver), diver.pk, seen_version=2) == diver
        assert made_before(type(diver), diver.pk) == diver
    with acting_as(make_account()), pytest.raises(Conflict):
        made_before(type(diver), diver.pk)


@pytest.mark.django_db
def test_a_voided_record_stays_and_says_why():
    with acting_as(make_account()):
        diver = make_diver(make_site())
        void(diver, "entered twice")

        assert type(diver).objects.standing().count() == 0
        assert type(diver).objects.get().void_reason == "entered twice"
        with pytest.raises(Conflict):
            void(diver, "again")
