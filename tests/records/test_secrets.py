"""Positions are secret, and so is personal data: every page is read for both, role by role."""

import re

import pytest
from django.test import Client
from django.urls import reverse

from records.archive.registers import REGISTERS
from records.models import Audience, Released, Role
from tests import factory
from tests.records.walking import (
    GEOGRAPHIC,
    PERSONAL,
    PLACES_IN_WORDS,
    RESTRICTED,
    SITE_EN,
    World,
    address,
    every_url,
)

pytestmark = pytest.mark.django_db


def pages_of(world: World, role: str):
    """Every page that the role gets, as text, without what it says of the reader's own name."""
    client = Client()
    account = world.members[role].account
    client.force_login(account, "records.sign_in.PasswordBackend")
    for pattern in every_url():
        answer = client.get(address(pattern, world))
        if answer.status_code == 200 and not answer.streaming:
            yield pattern.name, answer.content.decode("utf-8", "replace").replace(account.name, "")
    for name in REGISTERS:
        shown = client.get(reverse("register", args=[world.season.code, name]))
        file = client.get(reverse("register_file", args=[world.season.code, name, "archive"]))
        for content in (shown.content, file.getvalue()):
            yield f"register {name}", content.decode().replace(account.name, "")


def told(world: World, role: str, secrets: set[str]) -> set[tuple[str, str]]:
    return {
        (name, secret)
        for name, text in pages_of(world, role)
        for secret in secrets
        if stands_in(text, secret)
    }


def stands_in(text: str, secret: str) -> bool:
    """A number counts where it stands as one: the random keys in addresses hold any digits."""
    if secret[0].isdigit():
        return re.search(rf"(?<!\w)(?<!\w-){re.escape(secret)}(?![A-Za-z_-])", text) is not None
    return secret in text


def test_readers_see_no_position_nobodys_name_and_no_restricted_find(world):
    secrets = GEOGRAPHIC | SITE_EN | PERSONAL | PLACES_IN_WORDS | RESTRICTED
    assert told(world, Role.READER, secrets) == set()


def test_crew_see_the_places_told_in_words_but_not_where_on_the_earth_the_site_lies(world):
    hidden = (GEOGRAPHIC - {"Secretcove"}) | {"Secretpaper"} | RESTRICTED
    shown = told(world, Role.CREW, hidden | PLACES_IN_WORDS)

    assert {("dive", "Secretspot"), ("register dives", "Secretspot")} <= shown
    assert {secret for _name, secret in shown} == PLACES_IN_WORDS


@pytest.mark.parametrize("role", [Role.LEAD, Role.DIRECTOR])
def test_leads_and_the_director_see_the_anchor_papers_and_restricted_finds(world, role):
    shown = told(world, role, {"37.246813", "Secretdatum", "Secretpaper"} | RESTRICTED)

    assert {("anchor", "37.246813"), ("anchor", "Secretdatum"), ("diver", "Secretpaper")} <= shown
    assert ("finds", "Secretbones") in shown


def test_only_a_release_opens_the_sites_place_to_readers(world):
    release = factory.make_release(
        world.season, what=Released.GEOGRAPHIC, audience=Audience.READERS
    )
    client = Client()
    client.force_login(world.members[Role.READER].account, "records.sign_in.PasswordBackend")
    assert "37.246813" in client.get(reverse("site", args=[world.season.code])).content.decode()

    release.voided_at, release.voided_by = release.made_at, world.members[Role.DIRECTOR].account
    release.void_reason = "a mistake"
    release.save()
    assert told(world, Role.READER, GEOGRAPHIC | PERSONAL) == set()


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
