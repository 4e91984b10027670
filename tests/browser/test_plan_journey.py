"""The plan in a real browser: filtered, tapped, walked by keys, and written on by a lead."""

import re

import pytest
from playwright.sync_api import expect

from records.models import DiveTask, Role, Square, SquareGoal, Stage
from tests.browser.conftest import (
    LAPTOP,
    PHONE,
    assert_accessible,
    assert_reflows,
    assert_touchable,
    follow,
)
from tests.factory import (
    make_day,
    make_dive,
    make_grid,
    make_season,
)

pytestmark = [pytest.mark.slow, pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def season():
    """Ten by six squares wanted as found; the divers say that they drew K7."""
    season = make_season()
    grid = make_grid(season.site, code="P", first_column="K", first_row="7", bearing_deg=35)
    squares = Square.objects.bulk_create(
        Square(grid=grid, column=column, row=row) for column in range(10) for row in range(6)
    )
    stage = Stage.objects.create(season=season, order=1, name="as found")
    SquareGoal.objects.bulk_create(
        SquareGoal(stage=stage, square=one, photographs_wanted=one.column > 1) for one in squares
    )
    dive = make_dive(make_day(season, date=season.today()))
    DiveTask.objects.create(
        dive=dive, square=squares[0], stage=stage, method="drawing", outcome="done"
    )
    return season


@pytest.fixture
def at(season, live_server):
    return lambda path: f"{live_server.url}/s/{season.code}/{path}"


def tap(page, column, row):
    """In the middle of a square."""
    square = page.locator(f".plan g[data-c='{column}'][data-r='{row}'] > use").first
    square.scroll_into_view_if_needed()
    box = square.bounding_box()
    page.mouse.click(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)


def test_a_diver_finds_what_is_missing_and_opens_a_square(page, at, sign_in):
    sign_in(Role.CREW)
    page.goto(at("plan"))
    expect(page.locator(".answer")).to_contain_text("12 want a drawing, 48 want both")
    plan = page.locator(".plan")
    assert plan.bounding_box()["y"] + plan.bounding_box()["height"] <= 1180 - 60

    page.get_by_role("link", name="12 want a drawing only").click()
    expect(page).to_have_url(re.compile("only=drawing"))
    expect(page.locator("g.q-back")).to_have_count(48)

    tap(page, 0, 0)
    card = page.locator("#plan-card")
    expect(card.get_by_role("heading", name="K7")).to_be_visible()
    expect(card).to_contain_text("drawing wanted, said done by divers")
    expect(card).to_contain_text("drawing: done")
    expect(card).to_be_in_viewport()

    plan.focus()
    page.keyboard.press("ArrowUp")
    page.keyboard.press("ArrowRight")
    expect(page.locator("#plan-now")).to_have_text("L8: drawing wanted; no photographs wanted")
    page.keyboard.press("Enter")
    expect(card.get_by_role("heading", name="L8")).to_be_visible()
    assert_accessible(page)
    assert_touchable(page)
    card.get_by_role("link", name="Log a dive here").click()
    expect(page.locator("input[value=L8]")).to_be_visible()


def test_the_pages_hold_on_a_phone_and_a_laptop(page, at, sign_in):
    sign_in(Role.LEAD)
    for path in ("plan?at=0,0", "plan?view=table", "plan/report", "plan/square?at=0,0"):
        page.goto(at(path))
        for window in (LAPTOP, PHONE):
            page.set_viewport_size(window)
            assert_reflows(page)
            assert_touchable(page)
        assert_accessible(page)


def test_a_lead_opens_a_stage_for_a_block_and_sees_it_on_the_plan(page, at, sign_in, season):
    sign_in(Role.LEAD)
    page.goto(at("plan"))
    follow(page, "Stages and goals")
    assert_accessible(page)
    page.get_by_label("Name of the stage").fill("cleaned")
    page.get_by_role("button", name="Open the stage").click()

    tap(page, 2, 1)
    tap(page, 4, 3)
    expect(page.get_by_role("textbox", name="Squares").first).to_have_value("M8–O10")
    page.get_by_label("Photographs are wanted").first.uncheck()
    assert_accessible(page)
    assert_touchable(page)
    page.get_by_role("button", name="Save for these squares").click()
    expect(page.locator("#messages")).to_contain_text("Opened for 9 squares")
    expect(page.locator(".answer")).to_have_text(
        "None of 9 squares is recorded yet; 9 want a drawing."
    )

    page.get_by_role("link", name="To the plan").click()
    page.get_by_role("link", name="present stage").click()
    tap(page, 2, 1)
    card = page.locator("#plan-card")
    expect(card).to_contain_text("cleaned")
    card.get_by_role("link", name="What is wanted, exceptions").click()
    page.get_by_text("Accept an exception").first.click()
    page.get_by_label("drawing", exact=True).check()
    page.get_by_label("under an object").check()
    page.get_by_label("Reason, in words").fill("the gun lies on it")
    assert_accessible(page)
    page.get_by_role("button", name="Accept the exception").click()
    expect(page.locator("#plan-card")).to_contain_text("no drawing (under an object)")
    assert season.stages.get(order=2).goals.count() == 9


def test_a_director_plans_a_grid_and_lets_it_grow(page, at, sign_in):
    sign_in(Role.DIRECTOR)
    page.goto(at("grids"))
    page.get_by_role("link", name="Plan a grid").click()
    page.get_by_label("Short code").fill("H")
    page.get_by_label("Name of the grid").fill("Hull side")
    page.get_by_label("Slope").fill("90")
    page.get_by_label("Columns to begin with").fill("4")
    page.get_by_label("Rows to begin with").fill("2")
    assert_accessible(page)
    assert_touchable(page)
    page.get_by_role("button", name="Plan the grid").click()
    expect(page.locator(".plan g[data-c]")).to_have_count(8)

    page.get_by_text("Add squares").first.click()
    page.get_by_label("Columns on the left").fill("1")
    assert_accessible(page)
    page.get_by_role("button", name="Add the squares").click()
    expect(page.locator("#messages")).to_contain_text("2 squares added.")
    expect(page.locator(".plan g[data-l='J1']")).to_have_count(1)
