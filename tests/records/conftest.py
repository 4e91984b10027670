"""What many modules begin with; one that needs it otherwise has its own."""

from copy import deepcopy

import pytest

from records.acting import acting_as
from records.jobs import _claim, perform
from records.models import Job, JobState, Role
from tests.factory import make_member, make_season, make_stage
from tests.factory_cards import arrive, begun_card
from tests.records.walking import World, world_of_a_module


@pytest.fixture
def season(db):
    """Its lead acts."""
    season = make_season()
    with acting_as(make_member(season.site, Role.LEAD).account):
        yield season


@pytest.fixture
def stage(season):
    return make_stage(season)


@pytest.fixture
def card(run):
    return begun_card(run)


@pytest.fixture
def worked_off(run, django_capture_on_commit_callbacks):
    """A card of these files, named after when they were taken (s), with what was asked of them."""

    def worked_off(files):
        card = begun_card(run)
        with django_capture_on_commit_callbacks(execute=True):
            for at_s, data in files.items():
                arrive(card, f"P{at_s:04d}.JPG", data)
        for job in Job.objects.filter(state=JobState.WAITING).order_by("asked_at"):
            perform(_claim(job.pk))
        return card

    return worked_off


@pytest.fixture
def crew(season):
    """One of the crew, who acts."""
    account = make_member(season.site, Role.CREW).account
    with acting_as(account):
        yield account


@pytest.fixture(scope="module")
def _made_once(django_db_setup, django_db_blocker):
    with world_of_a_module(django_db_blocker) as made:
        yield made


@pytest.fixture
def world(_made_once, db) -> World:
    return deepcopy(_made_once)
