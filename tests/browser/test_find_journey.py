"""A find in a real browser: registered by its tag, measured, pictured; and remains reported."""

import datetime

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import expect

from records.models import Find, Restriction, Role
from tests.browser.conftest import (
    assert_holds,
    follow,
)
from tests.factory import (
    make_block,
    make_goal,
    make_grid,
    make_season,
    make_square,
    make_stage,
)
from tests.made_files import jpeg

pytestmark = [pytest.mark.slow, pytest.mark.browser, pytest.mark.django_db(transaction=True)]
TOLD = "Ines Duarte, police liaison"
SEEN = "a long bone under the plank"


@pytest.fixture
def season():
    today = timezone.localdate()
    week = datetime.timedelta(days=7)
    season = make_season(tell_human_remains=TOLD, starts_on=today - week, ends_on=today + week)
    grid = make_grid(season.site, first_column="K", first_row="7")
    make_goal(make_stage(season, name="as found"), make_square(grid))
    make_block(season)
    return season


@pytest.fixture
def at(season, live_server):
    return lambda name, *parts: live_server.url + reverse(name, args=[season.code, *parts])


def test_a_tagged_find_is_registered_measured_and_pictured(page, at, sign_in):
    sign_in(Role.CREW)
    page.goto(at("finds"))
    assert_holds(page)
    page.get_by_role("link", name="Register a find").click()
    expect(page.locator(".answer")).to_contain_text("human remains or ordnance?")
    assert_holds(page)
    follow(page, "Neither: register the find")
    assert_holds(page)
    page.get_by_role("textbox", name="Other, in words").fill("lead weight")
    page.get_by_label("Number on its tag").fill("207")
    page.get_by_label("Square").fill("K7")
    page.get_by_role("button", name="Save the find").click()

    expect(page.locator("body")).to_contain_text("Find 207 is registered.")
    assert_holds(page)
    page.get_by_label("Offset x").fill("0,42")
    page.get_by_label("Offset y").fill("0.731")
    page.get_by_text("measured with care").click()
    page.get_by_role("button", name="Save the position").click()
    expect(page.locator(".facts")).to_contain_text("x 0.420 m, y 0.731 m")
    assert_holds(page)

    follow(page, "Add pictures")
    assert_holds(page)
    shot = {"name": "P0009.JPG", "mimeType": "image/jpeg", "buffer": jpeg(seed=9)}
    page.get_by_label("Photographs of the find").set_input_files(shot)
    page.get_by_role("button", name="Keep the pictures").click()
    expect(page.locator("body")).to_contain_text("1 picture is kept.")
    expect(page.locator(".contact-sheet li")).to_have_count(1)
    assert_holds(page)
    page.goto(at("finds"))
    expect(page.locator("main")).to_contain_text("lead weight")
    assert_holds(page)


def test_human_remains_stop_the_work_and_pass_out_of_the_crew_s_sight(page, at, sign_in, season):
    sign_in(Role.CREW)
    page.goto(at("find_new"))
    page.get_by_role("link", name="Human remains, or it may be").click()
    expect(page.locator(".answer")).to_contain_text("Stop, leave it where it lies, and tell now.")
    expect(page.get_by_text(TOLD)).to_be_in_viewport()
    assert_holds(page)
    page.get_by_label("Square").fill("K7")
    page.get_by_label("What was seen").fill(SEEN)
    page.get_by_role("button", name="Save the report").click()
    expect(page.locator(".answer")).to_contain_text("Have you told them?")
    expect(page.get_by_text(TOLD)).to_be_visible()
    expect(page.get_by_text(SEEN)).to_have_count(0)
    assert_holds(page)

    reported = Find.objects.get()
    assert reported.restriction == Restriction.HUMAN_REMAINS
    page.get_by_role("link", name="They are told").click()
    page.goto(at("finds"))
    expect(page.locator("main")).not_to_contain_text(reported.number)
    assert page.goto(at("find", reported.pk)).status == 404
    page.go_back()
    assert SEEN not in str(page.evaluate("JSON.stringify(localStorage)"))

    sign_in(Role.LEAD)
    page.goto(at("find", reported.pk))
    expect(page.locator("main")).to_contain_text(SEEN)
    expect(page.locator("main")).to_contain_text("Restricted.")
    assert_holds(page)
