"""Signing in: by password anywhere, by initials and PIN on a trusted tablet; throttled, logged."""

import logging
import uuid

import pytest
from axes.models import AccessAttempt
from django.conf import settings
from django.urls import reverse
from django.utils import timezone

from records.acting import acting_as
from records.models import Membership, Role
from records.sign_in import TABLET_COOKIE
from records.verbs.people import change_member, end_membership, set_pin
from records.verbs.tablets import distrust_tablet, trust_tablet
from tests.factory import PASSWORD, make_member, make_season

pytestmark = pytest.mark.django_db
PIN = "7392"


@pytest.fixture
def season():
    return make_season()


@pytest.fixture
def director(season):
    return make_member(season.site, Role.DIRECTOR, initials="DD").account


@pytest.fixture
def crew(season, director):
    member = make_member(season.site, Role.CREW, initials="AB")
    with acting_as(director):
        return set_pin(member, pin=PIN)


@pytest.fixture
def tablet(season, director, client):
    """A trusted tablet; the test client is it."""
    with acting_as(director):
        made, token = trust_tablet(season.site, pk=uuid.uuid4(), name="Shed 1")
    client.cookies[TABLET_COOKIE] = token
    return made


def by_pin(client, initials="ab", pin=PIN):
    return client.post(reverse("sign_in"), {"initials": initials, "pin": pin})


def by_password(client, account, password=PASSWORD, **more):
    return client.post(
        reverse("sign_in"), {"username": account.sign_in_name, "password": password, **more}
    )


def opens_the_shed(client, season):
    return client.get(reverse("season", args=[season.code])).status_code == 200


def test_a_password_signs_in_anywhere_under_a_new_session_key(client, season, director):
    client.get(reverse("sign_in"))
    client.session["x"] = 1
    client.session.save()
    before = client.session.session_key

    answer = by_password(client, director)

    assert (answer.status_code, answer.url) == (302, reverse("home"))
    assert client.session.session_key != before
    assert opens_the_shed(client, season)


def test_the_page_asked_for_follows_but_never_another_host(client, director):
    kept = by_password(client, director, next="/sites")
    client.post(reverse("sign_out"))
    elsewhere = by_password(client, director, next="https://elsewhere.example/")

    assert kept.url == "/sites"
    assert elsewhere.url == reverse("home")


def test_the_pin_is_offered_on_a_trusted_tablet_only(client, crew):
    page = client.get(reverse("sign_in")).content.decode()

    assert 'name="password"' in page
    assert 'name="pin"' not in page


def test_pin_first_on_a_trusted_tablet_with_a_number_pad(client, tablet):
    page = client.get(reverse("sign_in")).content.decode()

    assert page.index('name="pin"') < page.index('name="password"')
    assert 'inputmode="numeric"' in page


def test_crew_sign_in_by_initials_and_pin(client, season, tablet, crew):
    answer = by_pin(client)

    assert answer.status_code == 302
    assert opens_the_shed(client, season)
    assert client.session.get_expiry_age() <= settings.CREW_SESSION_AGE_S


def test_without_the_tablets_cookie_a_pin_opens_nothing(client, season, crew):
    answer = by_pin(client)

    assert answer.status_code == 422
    assert not opens_the_shed(client, season)


@pytest.mark.parametrize("role", [Role.LEAD, Role.DIRECTOR, Role.READER])
def test_only_crew_have_a_pin(client, season, tablet, director, crew, role):
    """Even a hash left over from former days opens nothing."""
    crew.role = role
    crew.save()

    assert by_pin(client).status_code == 422
    assert not opens_the_shed(client, season)


def test_a_pin_opens_its_site_as_crew_and_nothing_else(client, season, tablet, crew):
    elsewhere = make_season()
    make_member(elsewhere.site, Role.DIRECTOR, account=crew.account)
    crew.account.is_administrator = True
    crew.account.save()
    by_pin(client)

    assert opens_the_shed(client, season)
    assert client.get(reverse("season", args=[elsewhere.code])).status_code == 404
    for name in ("site_new", "accounts", "own_password"):
        assert client.get(reverse(name)).status_code == 403
    assert elsewhere.site.name not in client.get(reverse("sites")).content.decode()


def ends_by_distrust(tablet, crew):
    distrust_tablet(tablet, reason="left on the quay")


def ends_by_membership(tablet, crew):
    end_membership(crew, reason="went home")


def ends_by_new_pin(tablet, crew):
    set_pin(crew, pin="2958")


def ends_by_new_role(tablet, crew):
    change_member(crew, None, name=crew.account.name, role=Role.LEAD, initials=crew.initials)


@pytest.mark.parametrize(
    "happens", [ends_by_distrust, ends_by_membership, ends_by_new_pin, ends_by_new_role]
)
def test_a_crew_session_ends_at_once(client, season, tablet, crew, director, happens):
    by_pin(client)
    assert opens_the_shed(client, season)

    with acting_as(director):
        happens(tablet, crew)

    assert not opens_the_shed(client, season)


def test_a_crew_session_does_not_travel_to_another_device(client, season, tablet, crew):
    by_pin(client)
    del client.cookies[TABLET_COOKIE]

    assert not opens_the_shed(client, season)


def test_signing_out_is_a_post_and_kills_the_session(client, season, director):
    by_password(client, director)
    key = client.session.session_key

    assert client.get(reverse("sign_out")).status_code == 405
    assert client.post(reverse("sign_out")).status_code == 302
    client.cookies[settings.SESSION_COOKIE_NAME] = key
    assert not opens_the_shed(client, season)


def test_wrong_passwords_are_throttled_in_words(client, director):
    for _again in range(settings.AXES_FAILURE_LIMIT - 1):
        assert by_password(client, director, "wrong").status_code == 422

    locked = by_password(client, director, "wrong")
    right = by_password(client, director)

    for answer in (locked, right):
        assert answer.status_code == 429
        assert "quarter of an hour" in answer.content.decode()
    assert "_auth_user_id" not in client.session


def test_a_throttled_name_opens_again_after_a_quarter_of_an_hour(client, season, director):
    for _again in range(settings.AXES_FAILURE_LIMIT):
        by_password(client, director, "wrong")
    for attempt in AccessAttempt.objects.all():
        attempt.attempt_time = timezone.now() - timezone.timedelta(minutes=16)
        attempt.save()

    by_password(client, director)

    assert opens_the_shed(client, season)


def test_wrong_pins_are_throttled_whatever_the_address(client, season, tablet, crew):
    for turn in range(settings.AXES_FAILURE_LIMIT):
        client.defaults["REMOTE_ADDR"] = f"10.0.0.{turn + 1}"
        last = by_pin(client, pin=f"00{turn:02}")

    assert last.status_code == 429
    client.defaults["REMOTE_ADDR"] = "10.0.0.99"
    assert by_pin(client).status_code == 429
    assert not opens_the_shed(client, season)


def test_wrong_pins_are_forgotten_once_the_right_one_is_given(client, season, tablet, crew):
    for _again in range(settings.AXES_FAILURE_LIMIT - 1):
        by_pin(client, pin="0001")
    assert by_pin(client).status_code == 302
    client.post(reverse("sign_out"))

    for _again in range(settings.AXES_FAILURE_LIMIT - 1):
        assert by_pin(client, pin="0001").status_code == 422


def test_no_password_try_from_elsewhere_locks_a_pin(client, season, tablet, crew):
    crew.initials = "77"
    crew.save()
    for _again in range(settings.AXES_FAILURE_LIMIT + 1):
        name = f"PIN {season.site.pk} 77"
        client.post(reverse("sign_in"), {"username": name, "password": "x"})

    assert by_pin(client, initials="77").status_code == 302


def test_one_name_throttled_leaves_the_others_open(client, season, tablet, crew, director):
    for _again in range(settings.AXES_FAILURE_LIMIT):
        by_pin(client, pin="0000")

    by_password(client, director)

    assert opens_the_shed(client, season)


def test_nothing_secret_is_kept_of_a_wrong_try(client, tablet, crew):
    by_pin(client, pin="6641")

    kept = AccessAttempt.objects.get()
    assert "6641" not in f"{kept.post_data}{kept.get_data}"


def test_sign_ins_and_refusals_are_logged(client, director, tablet, crew, caplog):
    with caplog.at_level(logging.INFO, "records.sign_in"):
        by_password(client, director, "wrong")
        by_password(client, director)
        client.post(reverse("sign_out"))
        by_pin(client, initials="z\nf")
        by_pin(client)

    lines = [record.getMessage() for record in caplog.records if record.name == "records.sign_in"]
    assert [line.split(":")[0] for line in lines] == [
        "refused",
        "signed in",
        "signed out",
        "refused",
        "signed in",
    ]
    assert all("\n" not in line for line in lines)
    assert not any(secret in line for line in lines for secret in ("wrong", PASSWORD, PIN))


def test_an_account_that_may_not_sign_in_does_not(client, season, director):
    by_password(client, director)
    director.is_active = False
    director.save()

    assert not opens_the_shed(client, season)
    assert by_password(client, director).status_code == 422


def test_whoever_lost_every_membership_sees_no_site(client, season):
    reader = make_member(season.site, Role.READER).account
    make_member(season.site, Role.DIRECTOR)
    by_password(client, reader)
    member = Membership.objects.get(account=reader)
    with acting_as(Membership.objects.get(role=Role.DIRECTOR).account):
        end_membership(member, reason="left")

    assert client.get(reverse("season", args=[season.code])).status_code == 404
    assert client.get(reverse("home")).url == reverse("sites")
