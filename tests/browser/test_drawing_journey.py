"""A drawing in a real browser: brought in, its corners marked, checked by a lead in two taps."""

import cv2
import numpy as np
import pytest
from django.urls import reverse
from playwright.sync_api import expect

from records.acting import acting_as
from records.jobs import _claim, perform
from records.models import (
    Drawing,
    DrawingCheck,
    DrawnSquare,
    Job,
    JobState,
    RedoReason,
    Role,
    Scan,
    ScanState,
    Square,
    Verdict,
)
from tests.browser.conftest import (
    LAPTOP,
    assert_holds,
)
from tests.factory import (
    make_day,
    make_dive,
    make_goal,
    make_grid,
    make_member,
    make_season,
    make_square,
    make_stage,
)
from tests.factory_pictures import make_picture

pytestmark = [pytest.mark.slow, pytest.mark.browser, pytest.mark.django_db(transaction=True)]

SHEET_PX = (1200, 900)
K7 = ((100, 750), (550, 750), (550, 300), (100, 300))  # −x −y, +x −y, +x +y, −x +y
L7 = ((640, 750), (1090, 750), (1090, 300), (640, 300))
PICKS = ("lower left", "lower right", "upper right", "upper left")


def sheet() -> bytes:
    """Two ruled frames side by side with a stone in each."""
    paper = np.full(SHEET_PX[::-1], 245, np.uint8)
    for frame in (K7, L7):
        cv2.polylines(paper, [np.array(frame)], True, 40, 2)
        middle = np.mean(frame, axis=0).astype(int)
        cv2.circle(paper, [int(part) for part in middle], 90, 60, 2)
    return cv2.imencode(".png", paper)[1].tobytes()


@pytest.fixture
def season():
    """K7 and L7, both to be drawn."""
    season = make_season()
    grid = make_grid(season.site, code="P", first_column="K", first_row="7")
    stage = make_stage(season)
    for column in range(2):
        make_goal(stage, make_square(grid, column), photographs_wanted=False)
    return season


@pytest.fixture
def at(season, live_server):
    return lambda name, *parts: live_server.url + reverse(name, args=[season.code, *parts])


def work_off() -> None:
    """What the quick worker would do meanwhile."""
    for job in Job.objects.filter(state=JobState.WAITING):
        perform(_claim(str(job.pk)))


def tap_sheet(page, u, v):
    """At a place of the full picture, scrolled clear of the desk and of the bars below."""
    image = page.locator("[data-picture] img")
    share = (v + 0.5) / SHEET_PX[1]
    image.evaluate(
        """(image, share) => {
             const box = image.getBoundingClientRect();
             window.scrollBy(0, box.top + share * box.height - 0.7 * window.innerHeight);
           }""",
        share,
    )
    box = image.bounding_box()
    scale = box["width"] / SHEET_PX[0]
    page.mouse.click(box["x"] + (u + 0.5) * scale, box["y"] + share * box["height"])


def mark_by_mouse(page, corners):
    """In the order in which the page asks for them, once the picture is there to be marked."""
    expect(page.locator("[data-now]")).to_contain_text("Next: lower left.", timeout=15_000)
    for corner in range(4):
        tap_sheet(page, *corners[corner])


def settled(page, corners):
    """Every corner to its pixel by keys and buttons: what the mouse left is read off the form."""
    for number, (u, v) in enumerate(corners):
        pick = page.get_by_role("button", name=PICKS[number])
        pick.click()
        for axis, true, keys in (("u", u, "Right Left"), ("v", v, "Down Up")):
            off = true - float(page.locator(f"[name=c{number}_{axis}]").input_value())
            key = keys.split()[0 if off > 0 else 1]
            for _step in range(round(abs(off))):
                pick.press(f"Arrow{key}")


def test_a_drawing_comes_in_is_marked_and_checked(page, at, sign_in, season):
    sign_in(Role.CREW)
    page.goto(at("drawings"))
    expect(page.locator(".answer")).to_have_text("No drawing has come in yet.")
    assert_holds(page)
    page.get_by_role("link", name="Bring in a drawing").click()
    file = {"name": "sheet 4.png", "mimeType": "image/png", "buffer": sheet()}
    page.locator("input[type=file]").set_input_files(file)
    expect(page.get_by_text("sheet 4.png is kept. Go on below.")).to_be_visible(timeout=15_000)
    work_off()
    expect(page.locator("[data-kept] img")).to_have_js_property("complete", True)
    page.get_by_label("Squares on the sheet").fill("K7 L7")
    assert_holds(page)
    page.get_by_role("button", name="Save, then mark the corners").click()

    expect(page.locator(".answer")).to_contain_text("four corners of K7")
    work_off()
    expect(page.locator("[data-now]")).to_contain_text("Next: lower left.", timeout=15_000)
    assert_holds(page)
    mark_by_mouse(page, K7)
    expect(page.locator("[data-now]")).to_contain_text("Four corners always fit")
    settled(page, K7)
    page.get_by_label("the whole square").check()
    page.get_by_role("button", name="Place K7").click()

    expect(page.locator(".answer")).to_contain_text("four corners of L7")
    expect(page.locator("body")).to_contain_text("K7 is placed.")
    mark_by_mouse(page, L7)
    expect(page.locator("[data-now]")).to_contain_text("Four corners always fit")
    page.get_by_role("button", name="Mark a crossing").click()
    tap_sheet(page, 640 + 90, 750 - 90)
    expect(page.locator("[data-now]")).to_contain_text("Crossing 20 / 20 cm lies")
    page.get_by_label("the whole square").check()
    page.get_by_role("button", name="Place L7").click()

    expect(page.locator(".answer")).to_contain_text("K7")
    first, second = DrawnSquare.objects.order_by("made_at")
    assert np.abs(np.array(first.corners_px) - np.array(K7)).max() <= 0.6
    assert np.abs(np.array(second.corners_px) - np.array(L7)).max() <= 3
    assert_holds(page)

    sign_in(Role.LEAD)
    page.goto(at("drawings"))
    expect(page.locator(".answer")).to_contain_text("2 drawn squares wait for a check.")
    page.get_by_role("link", name="Check K7").click()
    page.wait_for_load_state("networkidle")  # its pictures are asked for by now
    work_off()
    assert_holds(page)
    page.get_by_role("button", name="Accept K7").click()
    expect(page.locator("body")).to_contain_text("K7 is accepted. 1 more waits.")
    page.get_by_text("Send it back", exact=True).click()
    page.get_by_role("button", name="Edge does not meet").click()
    expect(page.locator("body")).to_contain_text("L7 is sent back. No other waits.")

    assert DrawingCheck.objects.get(drawn_square=first).verdict == Verdict.ACCEPTED
    sent_back = DrawingCheck.objects.get(drawn_square=second)
    assert (sent_back.verdict, sent_back.why) == (Verdict.REDO, RedoReason.EDGE)
    page.goto(at("square_edges", first.square_id))
    work_off()
    assert_holds(page)
    page.set_viewport_size(LAPTOP)
    page.goto(at("plan"))
    marks = "g[data-c='{}'] use[href='#d-{}']"
    expect(page.locator(marks.format(0, "done"))).to_have_count(1)
    expect(page.locator(marks.format(1, "back"))).to_have_count(1)
    assert Drawing.objects.count() == 1


def test_film_is_offered_the_squares_of_its_dive(page, at, sign_in, season):
    dive = make_dive(make_day(season))
    stage, square = season.stages.get(), Square.objects.order_by("column").last()
    dive.tasks.create(square=square, stage=stage, method="drawing", outcome="part")
    with acting_as(make_member(season.site, Role.LEAD).account):
        picture = make_picture(season.site)
        scan = Scan.objects.create(season=season, picture=picture, state=ScanState.ON_BOARD)
    sign_in(Role.CREW)
    page.goto(at("scan_film", scan.pk))
    offered, named = page.locator("[data-label]"), page.get_by_label("Square on the film")
    expect(offered).to_have_count(0)
    page.get_by_label("Drawn on dive").select_option(str(dive.pk))
    expect(offered).to_have_text(["L7"])

    named.fill("K7")
    offered.click()
    expect(named).to_have_value("K7 L7")
    expect(offered).to_have_attribute("aria-current", "true")
    assert_holds(page)
    offered.click()
    expect(named).to_have_value("K7")
