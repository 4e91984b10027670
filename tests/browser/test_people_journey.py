"""First director, trusted tablet, people and site pages, in a real browser at tablet size."""

import datetime
import re
import uuid

import pytest
from django.conf import settings
from django.urls import reverse
from playwright.sync_api import expect

from records.acting import acting_as
from records.models import Account, Membership, Role, Season, TrustedTablet
from records.sign_in import make_link
from records.verbs.people import set_pin
from tests.browser.conftest import (
    PHONE,
    TABLET,
    assert_accessible,
    assert_reflows,
    assert_touchable,
)
from tests.factory import (
    PASSWORD,
    make_account,
    make_anchor,
    make_diver,
    make_member,
    make_paper,
    make_release,
    make_season,
    make_tablet,
)

pytestmark = [pytest.mark.slow, pytest.mark.browser, pytest.mark.django_db(transaction=True)]
PIN = "7392"


def look_over(page):
    assert_accessible(page)
    assert_touchable(page)
    assert_reflows(page)


@pytest.fixture
def to(live_server):
    return lambda name, *args: live_server.url + reverse(name, args=args)


def sign_in(page, to, account):
    page.goto(to("sign_in"))
    page.get_by_label("Sign-in name").fill(account.sign_in_name)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in", exact=True).click()


def test_first_director_from_the_link_to_the_shed(page, to):
    token = make_link(None)

    page.goto(to("first_account", token))
    look_over(page)
    page.get_by_label("Your name").fill("Ida Sund")
    page.get_by_label("Sign-in name").fill("Ida")
    page.get_by_label("Password", exact=True).fill("brass-lantern-tide")
    page.get_by_label("once more").fill("brass-lantern-tied")
    page.get_by_role("button", name="Make the account").click()
    expect(page.locator("#errors")).to_contain_text("differ")
    expect(page.get_by_label("Your name")).to_have_value("Ida Sund")
    look_over(page)
    page.get_by_label("Password", exact=True).fill("brass-lantern-tide")
    page.get_by_label("once more").fill("brass-lantern-tide")
    page.get_by_role("button", name="Make the account").click()

    expect(page).to_have_title(re.compile("A new site"))
    look_over(page)
    page.get_by_label("Name of the site").fill("Heron Ledge wreck")
    page.get_by_label("Site code").fill("heron")
    page.get_by_label("Your initials").fill("is")
    page.get_by_role("button", name="Make the site").click()

    expect(page).to_have_title(re.compile("A new season"))
    look_over(page)
    today = datetime.datetime.now(datetime.UTC).date()
    page.get_by_label("Name of the season").fill("Heron 2031")
    page.get_by_label("Season code").fill("HER31")
    page.get_by_label("First day").fill(str(today))
    page.get_by_label("Last day").fill(str(today + datetime.timedelta(days=13)))
    page.get_by_label("Time zone").select_option("UTC")
    page.get_by_role("button", name="Make the season").click()

    expect(page.locator(".answer")).to_contain_text("Day 1 of 14")
    look_over(page)
    page.get_by_role("link", name="Shed", exact=True).click()
    expect(page).to_have_url(to("shed", "HER31"))
    director = Membership.objects.get()
    assert (director.role, director.initials, director.account.is_administrator) == (
        Role.DIRECTOR,
        "IS",
        True,
    )
    page.goto(to("first_account", token))
    expect(page.locator(".answer")).to_contain_text("used already")
    look_over(page)
    assert Account.objects.count() == 1


def test_a_trusted_tablet_and_crew_by_pin(page, tablet, to):
    season = make_season()
    director = make_member(season.site, Role.DIRECTOR).account
    crew = make_member(season.site, Role.CREW, initials="KD")
    with acting_as(director):
        set_pin(crew, pin=PIN)

    page.goto(to("sign_in"))
    expect(page.get_by_label("Your PIN")).to_have_count(0)
    look_over(page)
    sign_in(page, to, director)
    page.goto(to("tablets", season.code))
    page.get_by_role("link", name="Trust this tablet").click()
    page.get_by_label("Name of this tablet").fill("Shed 1")
    page.get_by_role("button", name="Trust this tablet").click()
    expect(page.locator("#messages")).to_contain_text("Sign out before you hand it over")
    expect(page.locator("main")).to_contain_text("this device")
    page.get_by_role("button", name="Sign out").click()

    look_over(page)
    page.get_by_label("Your initials").fill("kd")
    page.get_by_label("Your PIN").fill("0000")
    page.get_by_role("button", name="Sign in with PIN").click()
    expect(page.locator("#errors")).to_contain_text("do not belong together")
    look_over(page)
    page.get_by_label("Your PIN").fill(PIN)
    page.get_by_role("button", name="Sign in with PIN").click()
    expect(page.locator(".top")).to_contain_text(crew.account.name)
    page.get_by_role("button", name="Sign out").click()

    for _again in range(settings.AXES_FAILURE_LIMIT):
        page.get_by_label("Your initials").fill("kd")
        page.get_by_label("Your PIN").fill("0001")
        page.get_by_role("button", name="Sign in with PIN").click()
    expect(page.locator("main")).to_contain_text("quarter of an hour")
    look_over(page)

    other = tablet().new_page()
    other.goto(to("sign_in"))
    expect(other.get_by_label("Your PIN")).to_have_count(0)


def test_an_invited_person_opens_the_link_shown_once(page, tablet, to):
    season = make_season()
    sign_in(page, to, make_member(season.site, Role.DIRECTOR).account)
    page.goto(to("person_new", season.code))
    page.get_by_label("Name", exact=True).fill("Ove Lund")
    page.get_by_label("Initials").fill("OL")
    page.get_by_text("Recording lead").click()
    page.get_by_label("Sign-in name").fill("ove")
    page.get_by_role("button", name="Add the person").click()

    link = page.locator("code").inner_text()
    look_over(page)
    page.reload()
    expect(page.locator("code")).to_have_count(0)

    theirs = tablet().new_page()
    theirs.goto(link)
    look_over(theirs)
    theirs.get_by_label("Password", exact=True).fill("brass-lantern-tide")
    theirs.get_by_label("once more").fill("brass-lantern-tide")
    theirs.get_by_role("button", name="Set the password").click()
    expect(theirs.locator(".top")).to_contain_text("Ove Lund, recording lead")


def test_two_people_edit_one_season_and_neither_loses_a_word(page, tablet, to):
    season = make_season()
    director = make_member(season.site, Role.DIRECTOR, account=make_account("Ida")).account
    sign_in(page, to, director)
    page.goto(to("season_edit", season.code))
    page.get_by_label("Name of the season").fill("Mine")

    other = tablet().new_page()
    sign_in(other, to, make_member(season.site, Role.DIRECTOR).account)
    other.goto(to("season_edit", season.code))
    other.get_by_label("Name of the season").fill("Theirs")
    other.get_by_role("button", name="Save the season").click()
    expect(other.locator("#messages")).to_contain_text("saved")

    page.get_by_role("button", name="Save the season").click()
    expect(page.locator("#errors")).to_contain_text("Theirs")
    expect(page.get_by_label("Name of the season")).to_have_value("Mine")
    look_over(page)
    page.get_by_role("button", name="Save mine over it").click()
    expect(page.locator("#messages")).to_contain_text("saved")
    assert Season.objects.get(pk=season.pk).name == "Mine"
    page.goto(to("season_edit", season.code))
    page.get_by_text("History of this record").click()
    expect(page.locator(".history")).to_contain_text("Theirs")


@pytest.fixture
def furnished():
    """A site with one of everything that the pages of people, site and season show."""
    season = make_season()
    day = season.today()
    ends = day - datetime.timedelta(days=3)
    make_member(season.site, Role.CREW, account=make_account("Karin Dahl"))
    diver = make_diver(season.site, name="Tomas Rey")
    make_paper(diver, reference="MC 4471", expires_on=ends)
    make_paper(diver, kind="first_aid", expires_on=day + datetime.timedelta(days=5))
    make_tablet(season.site)
    make_release(season)
    make_anchor(season.site)
    return season


def addresses(to, season):
    code = season.code
    member = Membership.objects.get(site=season.site, role=Role.CREW)
    diver = season.site.divers.get()
    plain = (
        "season season_edit site site_edit anchor anchor_set closing releases release_new people "
        "person_new member_new tablets tablet_trust divers diver_new pictures finds"
    )
    account = member.account_id
    return [
        *(to(name, code) for name in plain.split()),
        *(to(f"person{act}", code, member.pk) for act in ("", "_edit", "_pin", "_end")),
        *(to(f"diver{act}", code, diver.pk) for act in ("", "_edit", "_void")),
        to("paper_new", code, diver.pk),
        *(to(f"paper_{act}", code, diver.papers.first().pk) for act in ("edit", "void")),
        *(to("closing_step", code, step) for step in ("close", "reopen")),
        to("release_withdraw", code, season.releases.get().pk),
        to("tablet_distrust", code, TrustedTablet.objects.get().pk),
        *(to(name) for name in ("sites", "site_new", "accounts", "own_password")),
        *(to(name, account) for name in ("account", "account_edit")),
        to("season_new", season.site.code),
    ]


def test_every_page_of_people_site_and_season_is_accessible_and_fits_a_telephone(
    page, to, furnished
):
    director = make_account("Ida Sund", is_administrator=True)
    make_member(furnished.site, Role.DIRECTOR, account=director)
    sign_in(page, to, director)
    for address in addresses(to, furnished):
        page.goto(address)
        page.set_viewport_size({**PHONE, "width": 320})
        assert_reflows(page)
        page.set_viewport_size(TABLET)
        folds = page.locator("main summary").all()
        for fold in folds:
            fold.click()
        assert_touchable(page)
        assert_reflows(page)
        if folds:  # shut, they are looked at with every page of a director
            assert_accessible(page)


def test_a_diver_typed_without_connection_is_one_diver(page, context, to, watch):
    watch.forgive("ERR_INTERNET_DISCONNECTED")
    season = make_season()
    sign_in(page, to, make_member(season.site, Role.LEAD).account)
    page.goto(to("diver_new", season.code))
    page.get_by_label("Name", exact=True).fill("Signe Moe")
    page.get_by_label("Initials").fill("SM")
    context.set_offline(True)
    page.get_by_role("button", name="Add the diver").click()
    page.wait_for_timeout(500)
    context.set_offline(False)

    expect(page.locator("#messages")).to_contain_text("Signe Moe", timeout=20_000)
    assert [diver.name for diver in season.site.divers.all()] == ["Signe Moe"]


def test_a_draft_never_holds_a_password_or_pin(page, to, furnished):
    director = make_account("Ida Sund", is_administrator=True)
    make_member(furnished.site, Role.DIRECTOR, account=director)
    sign_in(page, to, director)
    secret = f"secret-{uuid.uuid4().hex[:6]}"
    member = Membership.objects.get(site=furnished.site, role=Role.CREW)
    for address in (to("own_password"), to("person_pin", furnished.code, member.pk)):
        page.goto(address)
        for box in page.locator("main input[type=password]").all():
            box.fill(secret[:8])
        page.wait_for_timeout(500)
    kept = page.evaluate("JSON.stringify({...localStorage, ...sessionStorage})")
    assert secret[:8] not in kept
