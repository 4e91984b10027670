"""A run is picked on the plan, looked at, made, and its card asked for."""

import datetime

import pytest
from playwright.sync_api import expect

from records.acting import acting_as
from records.models import PhotoRun, Role
from tests.browser.conftest import (
    TABLET,
    assert_holds_at_every_size,
    follow,
)
from tests.factory import (
    make_day,
    make_dive,
    make_grid,
    make_member,
    make_season,
    make_square,
    make_stage,
)
from tests.factory_pictures import make_tower_set_up

pytestmark = [pytest.mark.slow, pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def season():
    season = make_season(zone="UTC")
    grid = make_grid(season.site, first_column="K", first_row="7")
    for column in range(10):
        for row in range(6):
            make_square(grid, column, row)
    make_stage(season, name="As found")
    left = datetime.datetime(2031, 6, 10, 9, tzinfo=datetime.UTC)
    reached = left + datetime.timedelta(minutes=40)
    make_dive(make_day(season), left_surface_at=left, reached_surface_at=reached, visibility_m=3.5)
    with acting_as(make_member(season.site, Role.LEAD).account):
        make_tower_set_up(season, focal_length_mm=24.0, sensor_width_mm=36.0)
    return season


@pytest.fixture
def page(context, sign_in):
    sign_in(Role.CREW)
    return context.new_page()


def tap(page, label):
    box = page.locator(f".plan g[data-l='{label}'] > use").first.bounding_box()
    page.mouse.click(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)


def test_a_run_is_picked_on_the_plan_looked_at_and_made(page, live_server, season):
    page.set_viewport_size(TABLET)
    page.goto(f"{live_server.url}/s/{season.code}/runs")
    follow(page, "Plan a run")
    assert_holds_at_every_size(page)

    page.locator(".plan").scroll_into_view_if_needed()
    tap(page, "L8")
    tap(page, "Q11")
    expect(page.locator("input[name=squares]")).to_have_value("L8–Q11")
    page.get_by_role("button", name="Show the plan").click()

    expect(page.locator(".answer")).to_contain_text("36 frames in 6 rows.")
    expect(page.locator(".warning-block")).to_contain_text("too far")
    expect(page.locator(".map-foot")).to_have_count(36)
    assert_holds_at_every_size(page)

    page.get_by_label("Name of the run").fill("Galley")
    page.get_by_role("button", name="Make the run").click()
    expect(page.locator(".answer")).to_contain_text("0 of 36 stations have a frame.")
    card = page.get_by_role("link", name="Card for the slate (PDF)").get_attribute("href")
    assert page.request.get(live_server.url + card).body().startswith(b"%PDF")
    assert PhotoRun.objects.get().rows.count() == 6


def test_the_optics_of_a_set_up_hold_at_every_size(page, live_server, season):
    page.goto(f"{live_server.url}/s/{season.code}/set-ups")
    page.get_by_role("link", name="What it sees under water").click()
    page.get_by_label("f-number").fill("8")
    page.get_by_role("button", name="Compute").click()

    expect(page.locator("main")).to_contain_text("Sharp from")
    assert_holds_at_every_size(page)


def test_another_grid_is_drawn_as_it_is_chosen(page, live_server, season):
    other = make_grid(season.site, name="Stern")
    make_square(other, 10, 0)
    page.goto(f"{live_server.url}/s/{season.code}/runs/plan")
    page.get_by_label("Forward overlap").fill("55")

    page.locator("[data-redraws]").select_option(str(other.pk))

    expect(page.locator(".plan g[data-c]")).to_have_count(1)
    expect(page.get_by_label("Forward overlap")).to_have_value("55")
    page.locator("[data-block]").fill("A1-B1")
    page.locator("[data-block]").press("Enter")
    expect(page.get_by_text("No square of Stern").first).to_be_visible()
