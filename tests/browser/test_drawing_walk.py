"""One walk, in a real browser, from a printed sheet to an empty queue: two squares are printed and
drawn, their scan files itself, the drawing is compared with a photograph by keys alone, a timber is
traced across both squares and taken away in files, and the lead checks until nothing waits.

It leads over a wall whose squares are half a metre wide and lie left of and below its peg.
"""

import base64
import json
import re
from xml.etree import ElementTree

import cv2
import numpy as np
import pypdfium2
import pytest
import shapely
from django.urls import reverse
from numpy.testing import assert_allclose
from PIL import Image
from playwright.sync_api import expect
from skimage.transform import SimilarityTransform

from records.acting import acting_as
from records.models import (
    Comparison,
    Drawing,
    DrawingCheck,
    DrawingKind,
    DrawnSquare,
    Outline,
    Role,
    Verdict,
)
from tests.browser.conftest import (
    LAPTOP,
    PHONE,
    TABLET,
    assert_accessible,
    assert_reflows,
    assert_touchable,
)
from tests.browser.test_square_page import spots_in, work_off_jobs
from tests.factory import make_goal, make_grid, make_member, make_season, make_square, make_stage
from tests.factory_square import bring_in_tilted_frame, features_of, tilted_camera
from tests.made_pdfs import pile_of

pytestmark = [pytest.mark.slow, pytest.mark.browser, pytest.mark.django_db(transaction=True)]

DPI = 150
SIDE_M = 0.5
CORNER = np.array([-2, -1]) * SIDE_M  # of K7
# x, y on the grid, m: from K7 into L7, clear of the features that are picked.
TIMBER = CORNER + SIDE_M * np.array([(0.3, 0.58), (1.6, 0.62), (1.6, 0.78), (0.3, 0.74)])
SLIP = CORNER + np.array([0.6, 0.45])
# The frame was laid 40 mm askew, the hand errs besides by 3 mm, in the mean by nothing.
SHIFT_MM = np.array([32.0, -24.0])
HAND_MM = np.array([(3, 0), (-3, 0), (0, 3), (0, -3), (0, 0)])
KEYS_MM = np.array([(0, 0), (0, 0), (0, 0), (0, 0), (10, 0)])  # the last mark is moved by a key
SEEN_WITHIN_M = 0.003


@pytest.fixture
def season():
    return make_season()


@pytest.fixture
def squares(season):
    """K7 and L7, to be drawn; K7 is photographed."""
    lies = {"bearing_deg": 32, "slope_deg": 90, "side_m": SIDE_M}
    grid = make_grid(season.site, code="W", first_column="M", first_row="8", **lies)
    stage = make_stage(season, order=1, name="as found")
    squares = [make_square(grid, column, -1) for column in (-2, -1)]
    for one in squares:
        make_goal(stage, one, photographs_wanted=one is squares[0])
    lead = make_member(season.site, Role.LEAD)
    camera = tilted_camera(squares[0])
    bring_in_tilted_frame(season, squares[0], stage, camera, lambda: acting_as(lead.account))
    work_off_jobs()
    return squares


@pytest.fixture
def at(season, live_server):
    return lambda name, *parts: live_server.url + reverse(name, args=[season.code, *parts])


def drawn_features(squares):
    return features_of(squares[0]) - (SHIFT_MM + HAND_MM) / 1000


def middles(lines):
    """Of runs of dark rows or columns, px."""
    at = np.flatnonzero(lines)
    return [run.mean() for run in np.split(at, np.flatnonzero(np.diff(at) > 1) + 1)]


def drawn_and_scanned(pdf, squares):
    """The features and the timber drawn into the frame that is printed on the first page; then the
    page on a table, turned by a quarter, and its empty back, as an office scanner's PDF."""
    page = pypdfium2.PdfDocument(pdf)[0].render(scale=DPI / 72, grayscale=True).to_numpy().copy()
    dark = page < 90
    top, bottom = middles(dark.mean(axis=1) > 0.9)[:2]
    left, _between, right = middles(dark[round(top) : round(bottom)].mean(axis=0) > 0.95)

    def px(points, fine=16):
        across, up = ((points - CORNER) / SIDE_M).T
        u = left + across / 2 * (right - left)
        v = bottom - up * (bottom - top)
        return (np.column_stack([u, v]) * fine).round().astype(int)

    for u, v in px(drawn_features(squares)):
        cv2.circle(
            page, (int(u), int(v)), round(0.01 / SIDE_M * (bottom - top) * 16), 20, -1, shift=4
        )
    cv2.polylines(page, [px(TIMBER)], True, 150, 2, shift=4)
    return pile_of(
        Image.fromarray(np.rot90(np.pad(page, 40, constant_values=90))),
        Image.new("1", (850, 1100), 1),
        resolution=DPI,
    )


def drawn(page):
    """What the quick worker would do; the page then fills in by itself."""
    page.wait_for_load_state("networkidle")
    for _again in range(50):
        work_off_jobs()
        if not page.locator("img[data-drawing]").count():
            for image in page.locator(".picture img, [data-picture] img").all():
                expect(image).to_have_js_property("complete", True)
            return
        page.wait_for_timeout(200)
    raise AssertionError("the windows were not drawn in ten seconds")


def assert_holds(page):
    assert_accessible(page)
    assert_touchable(page)
    was = page.viewport_size
    page.set_viewport_size(PHONE)
    assert_reflows(page)
    page.set_viewport_size(was)


def print_the_sheet(page, at):
    page.goto(at("sheets"))
    assert_accessible(page)
    page.get_by_role("link", name="Print drawing sheets").click()
    page.get_by_label("Squares").fill("K7 L7")
    page.get_by_label("All on one sheet, as a block").check()
    page.get_by_label("1:5", exact=True).check()
    assert_touchable(page)
    page.get_by_role("button", name="Make the sheets").click()
    ready = page.get_by_role("link", name="Open the PDF")
    expect(ready).to_be_visible()
    return page.request.get(at("sheets").partition("/s/")[0] + ready.get_attribute("href")).body()


_PILE = """([scan]) => {
  const pile = new DataTransfer();
  const bytes = Uint8Array.from(atob(scan), (one) => one.charCodeAt(0));
  pile.items.add(new File([bytes], "k7.pdf", { type: "application/pdf" }));
  return pile;
}"""


def drop_the_scan(page, at, scan):
    page.goto(at("scans"))
    pile = page.evaluate_handle(_PILE, [base64.b64encode(scan).decode()])
    page.dispatch_event("#scans-answer", "drop", {"dataTransfer": pile})
    expect(page.locator("#scans-answer")).to_contain_text("are being taken out")
    work_off_jobs()
    drawing = Drawing.objects.get()
    expect(page.get_by_role("link", name=str(drawing), exact=True)).to_be_visible(timeout=10_000)
    expect(page.locator("#scans-answer")).to_contain_text("1 scan could not be filed by itself.")
    assert_accessible(page)
    page.get_by_role("button", name="It is no drawing").click()
    expect(page.locator("#scans-answer")).to_have_text("Every scan is filed.")
    assert_accessible(page)
    assert_reflows(page)
    said = (drawing.squares_on_sheet, drawing.kind, drawing.scale)
    assert said == ("K7 L7", DrawingKind.ELEVATION, 5)


# Comparing, by keys alone


def seen_near(page, name, square, expected):
    """The spots that an eye finds in a pane within 2 cm of where they should be, (n, 2) m."""
    found = spots_in(page, page.locator(f"[data-pane={name}]"), square)
    apart = np.linalg.norm(found[None] - expected[:, None], axis=2)
    assert ((apart < 0.02).sum(axis=1) == 1).all()
    return found[apart.argmin(axis=1)]


def tab_to(page, selector):
    """By the Tab key alone."""
    for _ in range(90):
        page.keyboard.press("Tab")
        if page.evaluate("(one) => document.activeElement.matches(one)", selector):
            return
    raise AssertionError(f"Tab never comes to {selector}")


def go_by_arrows(page, x_m, y_m):
    """To the point from wherever the cross-hair is, by its strides and, with Shift, millimetres."""

    def away():
        at = page.evaluate("window.squareDesk().at ?? window.squareDesk().view")
        return x_m - at["x"], y_m - at["y"]

    for axis, (less, more) in enumerate((("ArrowLeft", "ArrowRight"), ("ArrowDown", "ArrowUp"))):
        for _ in range(200):
            off = away()[axis]
            if abs(off) <= 0.0006:
                break
            coarse = "" if abs(off) > 0.025 else "Shift+"
            page.keyboard.press(coarse + (more if off > 0 else less))


def pick_five_features(page, at, squares):
    """On both pictures, where they are seen."""
    page.set_viewport_size(LAPTOP)
    page.goto(at("square", "W", "K7") + "?hide=finds,lines")
    drawn(page)
    truth = {"drawing": drawn_features(squares), "photographs": features_of(squares[0])}
    seen = {name: seen_near(page, name, squares[0], places) for name, places in truth.items()}
    for name, places in truth.items():
        assert_allclose(seen[name], places, atol=SEEN_WITHIN_M)
    tab_to(page, "[data-compare-start]")
    page.keyboard.press("Enter")
    for n in range(5):
        for name, places in seen.items():
            tab_to(page, f"[data-pane={name}]")
            go_by_arrows(page, *places[n])
            page.keyboard.press("Enter")
        expect(page.locator("[data-compare-said]")).to_contain_text(f"Feature {n + 2}")
    tab_to(page, "[data-mark='4 photographs']")
    page.keyboard.press("Shift+ArrowRight")
    tab_to(page, "[data-compare-form] button")
    page.keyboard.press("Enter")
    return seen


def read_the_agreement(page, squares, seen):
    """Mean and root mean square by hand; what is left by scikit-image's similarity."""
    answer = page.locator(".agreement-answer")
    expect(answer).to_contain_text("The frame was probably laid or marked askew")
    made = Comparison.objects.get()
    picked = np.array(made.points_m)
    assert_allclose(picked[:, :2], seen["drawing"], atol=0.0012)
    assert_allclose(picked[:, 2:], seen["photographs"] + KEYS_MM / 1000, atol=0.0012)
    said = page.locator("main").inner_text().replace("\u2212", "-")
    mean = [float(one) for one in re.findall(r"Mean offset x (\S+) mm, y (\S+) mm", said)[0]]
    rms_mm = float(re.search(r"root mean square (\d+\.\d) mm\.", said)[1])
    left_mm = float(re.search(r"5 features still lie (\d+\.\d) mm apart", said)[1])
    offsets = SHIFT_MM + HAND_MM + KEYS_MM
    assert_allclose(mean, offsets.mean(axis=0), atol=1.5)
    assert rms_mm == pytest.approx(np.sqrt((offsets**2).sum() / 5), abs=1.5)
    source, target = drawn_features(squares), features_of(squares[0]) + KEYS_MM / 1000
    fit = SimilarityTransform.from_estimate(source, target)
    off_mm = 1000 * np.linalg.norm(fit(source) - target, axis=1)
    assert left_mm == pytest.approx(np.sqrt((off_mm**2).sum() / 3), abs=1.5)
    expect(page.locator(".answer").first).to_contain_text("drawing and photograph differ by 4")
    page.wait_for_load_state()  # its scripts have run
    kept = page.evaluate("Object.keys(sessionStorage)")  # what was kept on the tablet is sent
    assert [key for key in kept if key.startswith("compare:")] == []
    page.set_viewport_size(TABLET)


# Tracing


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


def trace_the_timber(page, at, squares):
    page.goto(at("outline_new", squares[0].pk))
    drawn(page)
    glass, bar = (page.locator(one).bounding_box() for one in ("[data-loupe]", ".save-bar"))
    assert glass["y"] + glass["height"] <= bar["y"]
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
    tap(page, *SLIP)  # a slip, taken away again
    expect(page.locator("[data-said]")).to_contain_text("5 points")
    page.get_by_role("button", name="Take the point away").click()
    page.get_by_role("button", name="Point before").click()
    page.get_by_role("button", name="right", exact=True).click()
    expect(page.locator("[data-said]")).to_contain_text("Point 3 is chosen")
    page.get_by_label("T timber").check()
    page.get_by_label("Label").fill("frame 12")
    page.get_by_role("button", name="Keep this feature").click()
    expect(page.locator(".answer")).to_have_text("frame 12 (timber): it runs across K7, L7.")
    outline = Outline.objects.get()
    assert np.abs(np.array(outline.points_m) - TIMBER).max() < 0.006
    assert outline.sources.count() == 2
    assert_holds(page)
    return outline


def take_it_away_in_files(page, at):
    page.goto(at("outlines"))
    assert_holds(page)
    with page.expect_download() as waiting:
        page.get_by_role("link", name="GeoJSON").click()
    file = json.loads(waiting.value.path().read_text())
    read = shapely.geometry.shape(file["features"][0]["geometry"])
    truth = shapely.Polygon(TIMBER)
    assert read.symmetric_difference(truth).area < 0.02 * truth.area
    assert "not longitude and latitude" in file["grid_coordinates"]["coordinates"]
    assert file["grid_coordinates"]["plane"] == "wall, y up"
    with page.expect_download() as waiting:
        page.get_by_role("link", name="SVG at 1:10").click()
    root = ElementTree.fromstring(waiting.value.path().read_bytes())
    square = root.findall("{http://www.w3.org/2000/svg}rect")[1]
    assert (root.get("width")[-2:], float(square.get("width"))) == ("mm", 50.0)


def check_until_none_waits(page, at):
    """The frame lay askew, so K7 goes back; L7 is accepted, and so said to be drawn whole."""
    page.goto(at("drawing_queue"))
    drawn(page)
    expect(page.locator(".answer")).to_contain_text("K7")
    expect(page.locator(".answer")).to_contain_text("drawing and photograph differ by 4")
    expect(page.locator(".check-stack")).to_contain_text("probably laid or marked askew")
    page.locator("[data-check]").press("b")
    expect(page.get_by_role("button", name="No square number")).to_be_focused()
    page.keyboard.press("Enter")
    expect(page.locator("body")).to_contain_text("1 more waits.")
    expect(page.locator(".answer")).to_contain_text("L7")
    page.get_by_label("on the slope").press("Space")
    page.get_by_label("on the slope").press("Enter")  # gives no verdict
    expect(page.locator(".answer")).to_contain_text("Is the whole square drawn?")
    expect(page.get_by_label("on the slope")).to_be_checked()
    whole = page.get_by_role("button", name="Accept: the whole square")
    expect(whole).to_be_disabled()  # nobody has seen it yet
    drawn(page)
    expect(whole).to_be_enabled()
    page.locator("[data-check]").press("w")
    expect(page.locator(".answer")).to_contain_text("No drawing waits for a check. 1 was sent back")
    assert_accessible(page)
    verdicts = DrawingCheck.objects.order_by("made_at").values_list("verdict", flat=True)
    assert list(verdicts) == [Verdict.REDO, Verdict.ACCEPTED]
    assert [one.extent for one in DrawnSquare.objects.order_by("square__column")] == ["", "whole"]
    assert Drawing.objects.get().frame_lies == "slope"


def test_from_a_printed_sheet_to_an_empty_queue(page, at, sign_in, squares):
    page.set_viewport_size(TABLET)
    sign_in(Role.CREW)
    pdf = print_the_sheet(page, at)
    drop_the_scan(page, at, drawn_and_scanned(pdf, squares))
    read_the_agreement(page, squares, pick_five_features(page, at, squares))
    outline = trace_the_timber(page, at, squares)
    for place in ("K7", "L7"):
        page.goto(at("square", "W", place))
        expect(page.locator(f".over [data-outline='{outline.pk}']")).to_have_count(2)
    page.goto(at("plan"))
    expect(page.locator(f".plan [data-outline='{outline.pk}']")).to_have_count(1)
    take_it_away_in_files(page, at)
    sign_in(Role.LEAD)
    check_until_none_waits(page, at)
