"""Pages of people, site and season: what they show and ask of the database, what they answer."""

import datetime
import uuid

import pytest
from django.test import Client
from django.urls import reverse

from records.models import Diver, Membership, Phase, Role, Season, Site
from tests import factory

pytestmark = pytest.mark.django_db


@pytest.fixture
def season():
    return factory.make_season()


def signed_in(account) -> Client:
    client = Client()
    client.force_login(account, "records.sign_in.PasswordBackend")
    return client


@pytest.fixture
def director(season):
    return factory.make_member(season.site, Role.DIRECTOR, initials="DD")


@pytest.fixture
def desk(director):
    """The director's browser."""
    return signed_in(director.account)


def grow(season, count):
    for _each in range(count):
        diver = factory.make_diver(season.site)
        factory.make_paper(diver, expires_on=season.today())
        factory.make_paper(diver, kind="insurance", expires_on=datetime.date(2020, 1, 1))
        factory.make_member(season.site)
        factory.make_tablet(season.site)
        factory.make_release(season)
        factory.make_season(season.site)


@pytest.mark.parametrize(
    "name", ["season", "people", "tablets", "divers", "releases", "site", "anchor", "closing"]
)
def test_pages_ask_the_same_however_many_there_are(
    season, desk, name, django_assert_max_num_queries
):
    def asked():
        with django_assert_max_num_queries(25) as queries:
            assert desk.get(reverse(name, args=[season.code])).status_code == 200
        return len(queries)

    grow(season, 1)
    few = asked()
    grow(season, 12)
    assert asked() == few


def test_the_list_of_sites_asks_the_same_however_many_there_are(
    season, director, desk, django_assert_max_num_queries
):
    def asked():
        with django_assert_max_num_queries(12) as queries:
            desk.get(reverse("sites"))
        return len(queries)

    few = asked()
    for _each in range(8):
        other = factory.make_season()
        factory.make_member(other.site, Role.DIRECTOR, account=director.account)
    assert asked() == few


def post(client, page, /, *args, **said):
    return client.post(reverse(page, args=args), said)


def test_a_person_is_added_and_the_link_is_shown_once(season, desk):
    said = {
        "id": uuid.uuid4(),
        "name": "Ove Lund",
        "initials": "OL",
        "role": "lead",
        "sign_in_name": "ove",
    }

    first = post(desk, "person_new", season.code, **said)
    shown = desk.get(first.url).content.decode()
    again = desk.get(first.url).content.decode()

    assert first.status_code == 303
    assert "/link/" in shown
    assert "/link/" not in again
    assert post(desk, "person_new", season.code, **said).status_code == 303  # sent twice
    assert Membership.objects.filter(account__sign_in_name="ove").count() == 1


def test_crew_are_asked_for_a_pin_next(season, desk):
    said = {"name": "Karin", "initials": "K", "role": "crew", "sign_in_name": "karin"}

    answer = post(desk, "person_new", season.code, id=uuid.uuid4(), **said)

    member = Membership.objects.get(initials="K")
    assert answer.url == reverse("person_pin", args=[season.code, member.pk])


def test_what_was_typed_stays_when_a_verb_refuses(season, desk, director):
    said = {"name": "Other", "initials": "dd", "role": "crew", "sign_in_name": "other"}

    answer = post(desk, "person_new", season.code, id=uuid.uuid4(), **said)

    page = answer.content.decode()
    assert answer.status_code == 422
    assert f"{director.account.name} already has these initials" in page
    assert 'value="Other"' in page


def test_a_link_that_may_not_be_given_says_why(season, desk):
    far = factory.make_member(season.site)
    factory.make_member(factory.make_site(), account=far.account)

    answer = post(desk, "person_link", season.code, far.pk)

    assert answer.status_code == 422
    assert "only an administrator" in answer.content.decode()


def test_a_stale_save_shows_what_changed_and_keeps_what_was_typed(season, desk):
    diver = factory.make_diver(season.site, name="Signe", initials="SM")
    diver.name = "Signe Moe"
    diver.save()

    answer = post(
        desk,
        "diver_edit",
        season.code,
        diver.pk,
        id=diver.pk,
        version=1,
        name="Sigrid",
        initials="SM",
    )

    page = answer.content.decode()
    assert answer.status_code == 409
    assert "Signe Moe" in page
    assert 'value="Sigrid"' in page
    assert Diver.objects.get().name == "Signe Moe"


@pytest.mark.parametrize(
    ("typed", "kept"), [("98", 0.98), ("97.5", 0.975), ("97,5", 0.975), ("100", 1.0)]
)
def test_a_share_is_typed_in_per_cent(season, desk, typed, kept):
    page = desk.get(reverse("season_edit", args=[season.code])).context["form"].initial

    answer = post(desk, "season_edit", season.code, **page | {"coverage_percent": typed})

    assert answer.status_code == 303
    assert Season.objects.get().coverage_needed_fraction == kept


def test_settings_open_as_they_were_saved(season, desk):
    """Saved untouched, a form changes nothing."""
    page = desk.get(reverse("season_edit", args=[season.code])).context["form"].initial
    before = Season.objects.values().get()

    post(desk, "season_edit", season.code, **page)

    after = Season.objects.values().get()
    assert {key: value for key, value in before.items() if after[key] != value} == {
        "version": before["version"]
    }


def test_the_anchor_is_typed_in_decimal_degrees(season, desk):
    said = {"latitude_deg": "37.0123456", "longitude_deg": "-8,9000001", "site_north_deg": "2.5"}

    assert post(desk, "anchor_set", season.code, id=uuid.uuid4(), **said).status_code == 303

    anchor = season.site.anchors.get()
    assert (anchor.latitude_deg, anchor.longitude_deg) == (37.0123456, -8.9000001)


@pytest.mark.parametrize("latitude", ["91", "-90.1", "37°N", ""])
def test_an_impossible_latitude_is_refused_at_its_field(season, desk, latitude):
    said = {"latitude_deg": latitude, "longitude_deg": "1", "site_north_deg": "0"}

    answer = post(desk, "anchor_set", season.code, id=uuid.uuid4(), **said)

    assert answer.status_code == 422
    assert "latitude_deg" in answer.context["form"].errors


def test_a_season_is_closed_and_opened_again_through_its_pages(season, desk):
    for step, phase in (
        ("close", Phase.FIELDWORK_CLOSED),
        ("deposit", Phase.DEPOSITED),
        ("addendum", Phase.DEPOSITED),
        ("reopen", Phase.OPEN),
    ):
        page = desk.get(reverse("closing", args=[season.code])).content.decode()
        address = reverse("closing_step", args=[season.code, step])
        assert address in page
        assert desk.post(address, {"id": uuid.uuid4(), "reason": f"to {step}"}).status_code == 303
        assert season.phase() == phase
    assert "to addendum" in desk.get(reverse("season", args=[season.code])).content.decode()


def test_no_door_on_the_season_page_is_shut(season):
    for role in Role:
        client = signed_in(factory.make_member(season.site, role).account)
        doors = client.get(reverse("season", args=[season.code])).context["doors"]
        assert {client.get(door.url).status_code for door in doors} == {200}, role


def test_signed_out_in_the_middle_of_a_press_one_comes_back_to_the_page(season, director):
    client = Client()
    page = reverse("person", args=[season.code, director.pk])
    press = reverse("person_link", args=[season.code, director.pk])

    asked = f"http://testserver{page}?frame=7"
    answer = client.post(press, headers={"Referer": asked})
    foreign = client.post(press, headers={"Referer": "https://elsewhere.example/x"})
    part = {"HX-Request": "true", "HX-Current-URL": asked}
    swept = client.get(page, headers=part)
    stays = client.get(page, headers=part | {"X-By-Itself": "1"})

    assert answer.url == f"{reverse('sign_in')}?next={page}%3Fframe%3D7" == swept["HX-Redirect"]
    assert foreign.url == reverse("sign_in")
    assert (stays.status_code, "HX-Redirect" in stays) == (401, False)


def test_a_new_site_and_its_first_season(client):
    keeper = factory.make_account(is_administrator=True)
    desk = signed_in(keeper)

    made = post(desk, "site_new", id=uuid.uuid4(), name="Heron", code="heron", initials="is")
    page = desk.get(made.url).context["form"].initial
    days = {"starts_on": "2031-06-01", "ends_on": "2031-06-20"}
    said = {
        "name": "First",
        "code": "HER31",
        "coverage_percent": "98",
        "disagreement_limit_mm": "30",
    }
    season = desk.post(made.url, page | said | days | {"id": uuid.uuid4()})

    assert Site.objects.get().code == "heron"
    assert season.url == reverse("season", args=["HER31"])
    assert desk.get(reverse("home")).url == reverse("shed", args=["HER31"])
