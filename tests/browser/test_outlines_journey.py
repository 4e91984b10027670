"""A timber traced across two squares in a real browser, taken away in files; then the lead checks
the drawings it was traced over, by keys, until none waits."""

import json
from io import BytesIO
from uuid import uuid4
from xml.etree import ElementTree

import cv2
import numpy as np
import pytest
import shapely
from django.urls import reverse
from playwright.sync_api import expect

from records.acting import acting_as
from records.intake.pictures import bring_in_picture
from records.jobs import _claim, perform
from records.models import DrawingCheck, Job, JobState, Outline, Role, Verdict
from records.verbs.drawings import DrawingEntry, bring_in_drawing
from records.verbs.drawn_squares import SquareMarks, place_drawn_square
from tests.browser.conftest import PHONE, assert_accessible, assert_reflows, assert_touchable
from tests.factory import make_goal, make_grid, make_member, make_season, make_square, make_stage

pytestmark = [pytest.mark.slow, pytest.mark.browser, pytest.mark.django_db(transaction=True)]

SHEET_PX = (1200, 900)
SIDE_PX = 450
LEFT_OF = (100, 640)  # of each square's frame on the sheet
LOW = 750
# x, y on the grid, m: from K7 into L7.
TIMBER = np.array([(0.3, 0.3), (1.6, 0.4), (1.6, 0.65), (0.3, 0.55)])


def sheet() -> BytesIO:
    """Two frames side by side, apart from one another; the timber goes on from one to the other."""
    paper = np.full(SHEET_PX[::-1], 245, np.uint8)
    for column, left in enumerate(LEFT_OF):
        seen = np.full((SIDE_PX, SIDE_PX), 245, np.uint8)
        drawn = (TIMBER - (column, 1)) * (SIDE_PX, -SIDE_PX)
        cv2.polylines(seen, [drawn.round().astype(int)], True, 40, 2)
        cv2.rectangle(seen, (0, 0), (SIDE_PX - 1, SIDE_PX - 1), 90, 2)
        paper[LOW - SIDE_PX : LOW, left : left + SIDE_PX] = seen
    return BytesIO(cv2.imencode(".png", paper)[1].tobytes())


@pytest.fixture
def season():
    return make_season()


@pytest.fixture
def squares(season):
    grid = make_grid(season.site, code="P", first_column="K", first_row="7")
    stage = make_stage(season, name="as found")
    squares = [make_square(grid, column) for column in range(2)]
    for one in squares:
        make_goal(stage, one, photographs_wanted=False)
    with acting_as(make_member(season.site, Role.CREW).account):
        picture = bring_in_picture(season, sheet(), "sheet.png")
        drawing = bring_in_drawing(season, picture, DrawingEntry(squares_on_sheet="K7 L7"), uuid4())
        for one, left in zip(squares, LEFT_OF, strict=True):
            right = left + SIDE_PX
            corners = ((left, LOW), (right, LOW), (right, LOW - SIDE_PX), (left, LOW - SIDE_PX))
            place_drawn_square(drawing, one, stage, "whole", SquareMarks(corners))
    return squares


@pytest.fixture
def sign_in(context, client, season, live_server):
    def as_(role):
        account = make_member(season.site, role).account
        client.force_login(account, backend="records.sign_in.PasswordBackend")
        cookie = client.cookies["sessionid"].value
        context.add_cookies([{"name": "sessionid", "value": cookie, "url": live_server.url}])

    return as_


@pytest.fixture
def at(season, live_server):
    return lambda name, *parts: live_server.url + reverse(name, args=[season.code, *parts])


def drawn(page):
    """What the quick worker would do; the page then fills in by itself."""
    page.wait_for_load_state("networkidle")
    for _again in range(50):
        while job := Job.objects.filter(state=JobState.WAITING).first():
            perform(_claim(str(job.pk)))
        if not page.locator("img[data-drawing]").count():
            for image in page.locator("[data-picture] img").all():
                expect(image).to_have_js_property("complete", True)
            return
        page.wait_for_timeout(200)
    raise AssertionError("the windows were not drawn in ten seconds")


def tap(page, x_m, y_m):
    """At a place of the grid, scrolled into the middle of the picture's frame."""
    x, y = page.evaluate(
        """([x, y]) => {
             const told = document.querySelector("[data-trace]").dataset;
             const across = (x - told.x) / told.step / told.width;
             const down = (told.y - y) / told.step / told.height;
             const frame = document.querySelector("[data-frame]");
             const image = frame.querySelector("img");
             frame.scrollIntoView({ block: "start" });
             const place = () => {
               const box = image.getBoundingClientRect();
               return [box.left + across * box.width, box.top + down * box.height];
             };
             const box = frame.getBoundingClientRect();
             const [seenX, seenY] = place();
             frame.scrollLeft += seenX - box.left - box.width / 2;
             frame.scrollTop += seenY - box.top - box.height / 2;
             return place();
           }""",
        [float(x_m), float(y_m)],
    )
    page.mouse.click(x, y)


def assert_holds(page):
    assert_accessible(page)
    assert_touchable(page)
    was = page.viewport_size
    page.set_viewport_size(PHONE)
    assert_reflows(page)
    page.set_viewport_size(was)


def trace_the_timber(page, at, squares):
    page.goto(at("outline_new", squares[0].pk))
    drawn(page)
    assert_holds(page)
    for n, point in enumerate(TIMBER[:2]):
        tap(page, *point)
        expect(page.locator("[data-said]")).to_contain_text(f"{n + 1} point")
    page.get_by_role("button", name="Go to L7").click()  # what is traced comes along
    expect(page.locator("h1")).to_contain_text("L7")
    drawn(page)
    expect(page.locator("[data-said]")).to_contain_text("2 points")
    for n, point in enumerate(TIMBER[2:]):
        tap(page, *point)
        expect(page.locator("[data-said]")).to_contain_text(f"{n + 3} points")
    tap(page, 1.2, 0.9)  # a slip, taken away again
    expect(page.locator("[data-said]")).to_contain_text("5 points")
    page.get_by_role("button", name="Take the point away").click()
    page.get_by_role("button", name="Point before").click()
    page.get_by_role("button", name="right", exact=True).click()
    expect(page.locator("[data-said]")).to_contain_text("Point 3 is chosen")
    page.get_by_label("T timber").check()
    page.get_by_label("Label").fill("frame 12")
    page.get_by_role("button", name="Keep this feature").click()
    expect(page.locator(".answer")).to_have_text("frame 12, timber: it runs across K7, L7.")


def test_a_timber_is_traced_across_two_squares_and_the_queue_is_emptied(
    page, at, sign_in, season, squares
):
    sign_in(Role.CREW)
    trace_the_timber(page, at, squares)
    outline = Outline.objects.get()
    assert np.abs(np.array(outline.points_m) - TIMBER).max() < 0.006
    assert outline.sources.count() == 2
    assert_holds(page)

    for place in ("K7", "L7"):
        page.goto(at("square", "P", place))
        expect(page.locator(f".over [data-outline='{outline.pk}']")).to_have_count(2)
    page.goto(at("plan"))
    expect(page.locator(f".plan [data-outline='{outline.pk}']")).to_have_count(1)

    page.goto(at("outlines"))
    assert_holds(page)
    with page.expect_download() as waiting:
        page.get_by_role("link", name="GeoJSON").click()
    file = json.loads(waiting.value.path().read_text())
    read = shapely.geometry.shape(file["features"][0]["geometry"])
    truth = shapely.Polygon(TIMBER)
    assert read.symmetric_difference(truth).area < 0.02 * truth.area
    assert "not longitude and latitude" in file["grid_coordinates"]["coordinates"]
    with page.expect_download() as waiting:
        page.get_by_role("link", name="SVG at 1:10").click()
    root = ElementTree.fromstring(waiting.value.path().read_bytes())
    square = root.findall("{http://www.w3.org/2000/svg}rect")[1]
    assert (root.get("width")[-2:], float(square.get("width"))) == ("mm", 100.0)

    sign_in(Role.LEAD)
    page.goto(at("drawing_queue"))
    drawn(page)
    expect(page.locator(".answer")).to_contain_text("K7")
    page.locator("[data-check]").press("a")
    expect(page.locator("body")).to_contain_text("K7 is accepted. 1 more waits.")
    expect(page.locator(".answer")).to_contain_text("L7")
    page.locator("[data-check]").press("b")
    expect(page.get_by_role("button", name="No square number")).to_be_focused()
    page.keyboard.press("Enter")
    expect(page.locator(".answer")).to_contain_text("No drawing waits for a check. 1 was sent back")
    assert_accessible(page)
    verdicts = DrawingCheck.objects.order_by("made_at").values_list("verdict", flat=True)
    assert list(verdicts) == [Verdict.ACCEPTED, Verdict.REDO]
