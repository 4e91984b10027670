"""A square in a real browser: drawing and photographs at one place, keys, small screens."""

import logging
import re
from io import BytesIO

import numpy as np
import pytest
from PIL import Image
from playwright.sync_api import expect
from scipy import ndimage

from records.acting import acting_as
from records.jobs import _claim, perform
from records.models import Fix, Job, JobState, Role
from survey import placement as placing
from tests.browser.conftest import (
    LAPTOP,
    PHONE,
    TABLET,
    assert_accessible,
    assert_reflows,
    assert_touchable,
)
from tests.factory import make_find, make_goal, make_grid, make_member, make_season, make_square
from tests.factory import make_stage as make_stage_
from tests.factory_square import (
    FEATURES,
    bring_in_marked_sheet,
    bring_in_tilted_frame,
    features_of,
    tilted_camera,
)

pytestmark = [pytest.mark.slow, pytest.mark.browser, pytest.mark.django_db(transaction=True)]

MARGIN_M = 0.05  # of the grid that is shown round a square of 1 m
TRUE_WITHIN_M = 0.003


@pytest.fixture
def season():
    return make_season()


@pytest.fixture
def lead(season):
    return make_member(season.site, Role.LEAD)


@pytest.fixture
def lies():
    """How the grid lies, and the column and row of the square: its rows run north-east."""
    return {"bearing_deg": 35}, (1, 1)


@pytest.fixture
def square(season, lies):
    """In the middle of nine, all wanted."""
    fields, (column, row) = lies
    grid = make_grid(season.site, code="P", first_column="K", first_row="7", **fields)
    stage = make_stage_(season, order=1, name="as found")
    near = range(-1, 2)
    squares = {(c, r): make_square(grid, column + c, row + r) for c in near for r in near}
    for one in squares.values():
        make_goal(stage, one)
    return squares[0, 0]


@pytest.fixture
def stage(season, square):
    return season.stages.get()


@pytest.fixture
def at(season, live_server):
    return lambda place, query="": f"{live_server.url}/s/{season.code}/square/P/{place}{query}"


def work_off_jobs():
    """What the quick worker would do."""
    while job := Job.objects.filter(state=JobState.WAITING).first():
        perform(_claim(str(job.pk)))


def open_drawn(page, url):
    """The page with both windows drawn: it asks for them, and fills in by itself."""
    page.goto(url)
    page.wait_for_load_state("networkidle")
    work_off_jobs()
    expect(page.locator("img[data-drawing]")).to_have_count(0)
    for picture in page.locator(".picture img").all():
        expect(picture).to_have_js_property("naturalWidth", 1100)


def spots_in(page, picture, square):
    """Where the dark spots of a pane lie on the grid, (n, 2) m, read from a screenshot."""
    shown = Image.open(BytesIO(page.screenshot())).convert("L")
    box = picture.bounding_box()
    scale = shown.width / page.viewport_size["width"]
    left, top, width = (box[key] * scale for key in ("x", "y", "width"))
    light = np.asarray(shown, float)
    dark = (110 - light).clip(0)
    middle = np.zeros(light.shape, bool)  # not the pane's rim
    inner = 4 * scale
    middle[
        int(top + inner) : int(top + width - inner), int(left + inner) : int(left + width - inner)
    ] = True
    areas, count = ndimage.label((dark > 30) & middle, np.ones((3, 3)))
    spread = ndimage.grey_dilation(areas, (5, 5))  # with the soft edge of each spot
    weight = np.where(middle, (light.max() - light).clip(0) ** 2, 0)
    centres = np.array(ndimage.center_of_mass(weight, spread, range(1, count + 1)))
    sides_a_px = (1.0 + 2 * MARGIN_M) / width
    x = square.column - MARGIN_M + (centres[:, 1] + 0.5 - left) * sides_a_px
    y = square.row + 1 + MARGIN_M - (centres[:, 0] + 0.5 - top) * sides_a_px
    return np.column_stack([x, y]) * square.grid.side_m


def furthest_off(found, truth):
    """The greatest distance of a found spot to the feature it is nearest to; each found once."""
    apart = np.linalg.norm(found[:, None, :] - truth[None, :, :], axis=2)
    assert sorted(apart.argmin(axis=1)) == list(range(len(truth)))
    return apart.min(axis=1).max()


@pytest.fixture
def recorded(season, square, stage, lead):
    """The same features drawn, and photographed by a camera that is tilted by 3°."""
    with acting_as(lead.account):
        bring_in_marked_sheet(season, square, stage)
    camera = tilted_camera(square, tilt_deg=3.0)
    frame = bring_in_tilted_frame(season, square, stage, camera, lambda: acting_as(lead.account))
    work_off_jobs()
    return frame, camera


def test_features_stand_at_the_same_place_in_both_panes(page, at, go_under, lead, square, recorded):
    go_under(lead.account)
    pictures = page.locator(".panes .picture")
    for size in (LAPTOP, PHONE | {"height": 1600}, TABLET):
        page.set_viewport_size(size)
        open_drawn(page, at("L8", "?hide=finds,lines"))
        drawing, photographs = (
            furthest_off(spots_in(page, pictures.nth(n), square), features_of(square))
            for n in (0, 1)
        )

        off_by = f"{size}: {drawing * 1000:.2f} mm drawn, {photographs * 1000:.2f} photographed"
        logging.getLogger(__name__).warning(off_by)
        assert (drawing <= TRUE_WITHIN_M, photographs <= TRUE_WITHIN_M) == (True, True), off_by
    the_tower_alone_would_have_put_them_elsewhere(square, *recorded)


def the_tower_alone_would_have_put_them_elsewhere(square, frame, camera):
    """A control: the six marks matter; the typed footprint on its station knows of no tilt."""
    by_station = frame.photograph.picture.placements.get(method="station")
    said = placing.to_plane(placing.Placement(by_station.h), camera.picture(features_of(square)))

    assert np.linalg.norm(said - features_of(square), axis=1).min() > 10 * TRUE_WITHIN_M


def test_what_is_laid_over_lies_where_it_should_and_all_of_it_fits(
    page, at, go_under, lead, season, square, recorded, tablet
):
    """A find's cross on its feature, the rim on the square's edges: read from the layout."""
    find = make_find(season, square=square, where_in_words="")
    x_m, y_m = features_of(square)[0]
    Fix.objects.create(find=find, grid=square.grid, x_m=x_m, y_m=y_m, sigma_m=0.02)
    go_under(lead.account)
    open_drawn(page, at("L8"))

    for n in (0, 1):
        pane = page.locator(".panes .picture").nth(n)
        frame = pane.bounding_box()
        px_a_metre = frame["width"] / (1 + 2 * MARGIN_M)
        rim = pane.locator(".over-rim").bounding_box()
        assert rim["x"] - frame["x"] == pytest.approx(MARGIN_M * px_a_metre, abs=1.2)
        assert rim["width"] == pytest.approx(px_a_metre, abs=2.4)
        cross = pane.locator(".over-find path").last.bounding_box()
        across = cross["x"] + cross["width"] / 2 - frame["x"]
        down = cross["y"] + cross["height"] / 2 - frame["y"]
        dx, dy = FEATURES[0]
        assert across == pytest.approx((dx + MARGIN_M) * px_a_metre, abs=1)
        assert down == pytest.approx((1 + MARGIN_M - dy) * px_a_metre, abs=1)
    for size in (TABLET, LAPTOP, PHONE):
        page.set_viewport_size(size)
        page.reload()
        it_fits(page, size)
    assert_accessible(page)
    other = tablet(java_script_enabled=False)
    go_under(lead.account, other)
    without_script_all_is_there(other.new_page(), at("L8"))


def it_fits(page, size):
    assert_touchable(page)
    assert_reflows(page)
    both = [one.bounding_box() for one in page.locator(".panes .picture").all()]
    assert both[0]["width"] == pytest.approx(both[1]["width"], abs=0.5)
    assert both[0]["width"] == pytest.approx(both[0]["height"], abs=0.5)
    if size != PHONE:
        assert all(one["y"] + one["height"] <= size["height"] for one in both)


def without_script_all_is_there(page, url):
    page.goto(url)
    assert page.locator(".over-rim").count() == 2
    page.get_by_role("link", name="Grid lines").click()
    assert page.locator(".over-rim").count() == 0
    page.get_by_role("link", name="L9").click()
    assert "Square L9" in page.locator("h1").inner_text()


def test_arrow_keys_and_buttons_walk_over_the_grid(page, at, go_under, lead, square):
    go_under(lead.account)
    page.goto(at("L8", "?hide=lines"))
    for key, there in (
        ("ArrowUp", "L9"),
        ("ArrowRight", "M9"),
        ("ArrowDown", "M8"),
        ("ArrowLeft", "L8"),
    ):
        page.keyboard.press(key)
        expect(page).to_have_url(re.compile(rf"square/P/{there}\?hide=lines$"))
        expect(page.locator("h1")).to_contain_text(there)

    page.get_by_role("link", name="K8").click()
    expect(page.locator("h1")).to_contain_text("K8")
    page.keyboard.press("ArrowLeft")
    expect(page.locator("h1")).to_contain_text("K8")
    page.keyboard.press("Shift+ArrowUp")
    expect(page.locator("h1")).to_contain_text("K8")


def test_keys_scroll_once_the_pictures_are_out_of_sight(page, at, go_under, lead, square):
    go_under(lead.account)
    page.set_viewport_size(PHONE)
    page.goto(at("L8"))
    page.evaluate("scrollTo(0, document.body.scrollHeight)")
    page.keyboard.press("ArrowUp")
    page.wait_for_timeout(300)

    expect(page).to_have_url(re.compile("square/P/L8$"))
