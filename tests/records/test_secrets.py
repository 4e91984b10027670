"""Positions are secret, and so is personal data. The walk over every URL reads each page for both;
here is what else there is to it."""

import pytest
from django.test import Client
from django.urls import reverse

from records.models import Audience, Released, Role
from tests import factory
from tests.records.reading import stands_in
from tests.records.walking import GEOGRAPHIC, SITE_EN

pytestmark = pytest.mark.django_db


def test_only_a_release_opens_the_sites_place_to_readers(world):
    """Withdrawn ones stand in the world already, and the walk reads every page beside them."""
    client = Client()
    client.force_login(world.members[Role.READER].account, "records.sign_in.PasswordBackend")

    def is_told() -> bool:
        page = client.get(reverse("site", args=[world.season.code]))
        return "37.246813" in page.content.decode()

    assert not is_told()
    factory.make_release(world.season, what=Released.GEOGRAPHIC, audience=Audience.READERS)
    assert is_told()


@pytest.mark.parametrize("code", ["404", "403"])
def test_refusals_name_no_other_site(world, code):
    """A guessed address tells neither the site's name nor that it exists."""
    other = factory.make_season(factory.make_site(name="Secretwreck"))
    client = Client()
    client.force_login(world.members[Role.READER].account, "records.sign_in.PasswordBackend")
    season = other if code == "404" else world.season

    answer = client.get(reverse("people", args=[season.code]))

    assert answer.status_code == int(code)
    assert "Secretwreck" not in answer.content.decode()


@pytest.mark.parametrize(
    ("text", "is_told"),
    [
        ("E 4711.25 m", True),
        ("[4711, 8822]", True),
        ("longitude -8.135791", True),
        ("5eabed00-4711-4000-8000-000000000001", False),
        ("token=a4711b", False),
    ],
)
def test_a_number_in_a_key_is_no_position(text, is_told):
    assert any(stands_in(text, secret) for secret in SITE_EN | GEOGRAPHIC) == is_told
