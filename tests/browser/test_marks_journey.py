"""The base of a tower marked in a real browser: tapped, moved by keys, saved with its residual."""

from io import BytesIO

import cv2
import numpy as np
import pytest
from django.urls import reverse
from playwright.sync_api import expect

from records.acting import acting_as
from records.intake.pictures import bring_in_picture
from records.jobs import _claim, perform
from records.models import Job, JobState, Role, SquareCoverage
from survey.placement import to_plane
from tests.browser.conftest import (
    assert_holds,
)
from tests.factory import make_goal, make_grid, make_member, make_season, make_square, make_stage
from tests.factory_pictures import make_photograph, make_tower_set_up

pytestmark = [pytest.mark.slow, pytest.mark.browser, pytest.mark.django_db(transaction=True)]

SIZE_PX = (1200, 800)
BASE_CM = ((-60, 40), (60, 40), (-60, -40), (60, -40))  # in the desk's order: the upper first
ASKED = ("upper left", "upper right", "lower left", "lower right")
FURTHER = {"tape 0": (-30, 20), "tape 50": (20, 20), "rivet": (0, -25)}


def pixel(x_cm: float, y_cm: float) -> tuple[int, int]:
    """Seen straight from above, a pixel a millimetre; whole pixels, so that keys can reach them."""
    return round(600 + x_cm * 8), round(400 - y_cm * 8)


def frame() -> bytes:
    ground = np.random.default_rng(3).integers(90, 140, SIZE_PX[::-1], np.uint8)
    corners = [pixel(*BASE_CM[one]) for one in (0, 1, 3, 2)]
    cv2.polylines(ground, [np.array(corners)], True, 250, 3)
    for place in FURTHER.values():
        cv2.circle(ground, pixel(*place), 6, 255, -1)
    return cv2.imencode(".png", ground)[1].tobytes()


@pytest.fixture
def season():
    return make_season()


@pytest.fixture
def lead(season, go_under):
    account = make_member(season.site, Role.LEAD).account
    go_under(account)
    return account


def work_off() -> None:
    for job in Job.objects.filter(state=JobState.WAITING):
        perform(_claim(str(job.pk)))


def tap(page, u, v):
    image = page.locator("[data-picture] img")
    image.evaluate(
        """(image, share) => {
             const box = image.getBoundingClientRect();
             window.scrollBy(0, box.top + share * box.height - 0.75 * window.innerHeight);
           }""",
        (v + 0.5) / SIZE_PX[1],
    )
    box = image.bounding_box()
    scale = box["width"] / SIZE_PX[0]
    page.mouse.click(box["x"] + (u + 0.5) * scale, box["y"] + (v + 0.5) * scale)


def settle(page, pick, prefix, u, v):
    """To its very pixel by keys: what the tap left is read off the form."""
    button = page.locator(f"[data-picks] button:text-is('{pick}')")
    button.focus()
    for axis, true, keys in (("u", u, "Right Left"), ("v", v, "Down Up")):
        off = true - float(page.locator(f"[name={prefix}{axis}]").input_value())
        for _step in range(round(abs(off))):
            button.press(f"Arrow{keys.split()[0 if off > 0 else 1]}")


def test_the_base_of_a_set_up_is_marked_once(page, season, lead, live_server):
    with acting_as(lead):
        set_up = make_tower_set_up(season, picture_width_px=1200, picture_height_px=800)
        picture = bring_in_picture(season, BytesIO(frame()), "base.png")
    work_off()
    desk = reverse("set_up_marks", args=[season.code, set_up.pk, picture.pk])
    page.goto(live_server.url + desk)
    work_off()
    page.get_by_label("Base, from left to right").fill("120")
    page.get_by_label("Base, from bottom to top").fill("80")
    ready = "0 marked; four are needed."
    expect(page.locator("[data-said]")).to_contain_text(ready, timeout=15_000)
    assert_holds(page)
    for place in BASE_CM:
        tap(page, *pixel(*place))
    expect(page.locator("[data-said]")).to_contain_text("A fifth checks them.")
    for number, (name, (x_cm, y_cm)) in enumerate(FURTHER.items()):
        page.get_by_role("button", name="Another point").click()
        page.locator(f"[name=points-{number}-name]").fill(name)
        page.locator(f"[name=points-{number}-x_cm]").fill(str(x_cm))
        page.locator(f"[name=points-{number}-y_cm]").fill(str(y_cm))
        page.locator(f"[name=points-{number}-y_cm]").blur()
        tap(page, *pixel(x_cm, y_cm))
    expect(page.locator("[data-said]")).to_contain_text("mm from where the corners alone put it")
    for number, name in zip((3, 2, 0, 1), ASKED, strict=True):
        settle(page, name, f"c{number}_", *pixel(*BASE_CM[ASKED.index(name)]))
    for number, (name, place) in enumerate(FURTHER.items()):
        settle(page, name, f"points-{number}-", *pixel(*place))
    page.reload()  # a draft is kept
    expect(page.locator("[name=points-2-name]")).to_have_value("rivet")
    page.get_by_role("button", name="Place the set-up").click()

    expect(page.locator(".answer")).to_contain_text("7 points agree within")
    placed = set_up.placement
    assert placed.marks.count() == 7
    assert placed.rms_mm < 1.0  # half a pixel of taps is 0.6 mm here; keys move by whole ones
    assert to_plane(placed.as_value, [600, 400]) == pytest.approx([0, 0], abs=0.001)
    assert_holds(page)


def test_a_photograph_is_placed_by_the_corners_of_its_square(page, season, lead, live_server):
    grid, stage = make_grid(season.site, first_column="K", first_row="7"), make_stage(season)
    squares = [make_square(grid, column) for column in range(2)]
    make_goal(stage, squares[0])
    with acting_as(lead):
        picture = bring_in_picture(season, BytesIO(frame()), "shot.png")
    shot = make_photograph(season, picture=picture, square=squares[0], stage=stage)
    work_off()
    page.goto(live_server.url + reverse("photo", args=[season.code, shot.pk]))
    page.get_by_role("link", name="Place it by known points").click()
    work_off()
    expect(page.locator("[data-said]")).to_contain_text("0 marked", timeout=15_000)
    for place in BASE_CM:  # K7 is as large as the base was
        tap(page, *pixel(*place))
    page.get_by_label("Squares or finds").fill("L7")
    page.get_by_role("button", name="Put them on the list").click()
    expect(page.locator("[data-picks] button")).to_have_count(6)
    assert_holds(page)
    page.get_by_role("button", name="Place it", exact=True).click()

    expect(page.locator("body")).to_contain_text("is placed. Four points always fit")
    assert SquareCoverage.objects.get(square=squares[0]).fraction > 0.98
    page.goto(live_server.url + reverse("shed", args=[season.code]))
    expect(page.locator(".kept")).to_have_count(0)  # no draft is left behind
