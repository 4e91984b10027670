"""Between two dives: 24 frames with three faults, the verdict, the shooting again, and good."""

import datetime
import re

import pytest
from PIL import Image
from playwright.sync_api import expect

from records.acting import acting_as
from records.jobs import _claim, perform
from records.models import Card, Job, JobState, Role
from records.verbs.tower import RowEntry
from tests import made_files, scenes
from tests.browser.conftest import (
    assert_holds_at_every_size,
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
from tests.factory_pictures import make_run, make_tower_set_up

pytestmark = [pytest.mark.slow, pytest.mark.browser, pytest.mark.django_db(transaction=True)]

SCENE = scenes.Run(
    83,
    "structured",
    rows=2,
    per_row=12,
    faults={"1/4": scenes.Fault("motion", 14.0, 90.0), "2/6": scenes.Fault("dark", 0.1)},
)
PASSED_OVER = "2/9"
AGAIN = scenes.Run(83, "structured", rows=2, per_row=12)
SPOILT = ("1/4", "2/6", PASSED_OVER)
WORDS = "row 1, station 4; row 2, stations 6 and 9"


def written(folder, run, stations, hour):
    folder.mkdir()
    for n, station in enumerate(stations):
        at = datetime.datetime(2031, 6, 10, hour, 5) + datetime.timedelta(seconds=37 * n)  # noqa: DTZ001
        exif = made_files.exif_block(
            DateTimeOriginal=f"{at:%Y:%m:%d %H:%M:%S}",
            SubsecTimeOriginal=None,
            OffsetTimeOriginal=None,
        )
        picture = Image.fromarray(run.frame(station)).convert("RGB")
        data = made_files.encoded(picture, "JPEG", exif=exif, quality=92)
        (folder / f"T{hour:02d}{n:02d}.JPG").write_bytes(data)
    return folder


@pytest.fixture
def season():
    return make_season(zone="UTC")


@pytest.fixture
def run(season):
    grid, stage = make_grid(season.site), make_stage(season)
    first, other = SCENE.stations[0], SCENE.stations[SCENE.per_row]
    for column in range(-1, 12):
        for row in range(-1, 3):
            make_goal(stage, make_square(grid, column, row))
    with acting_as(make_member(season.site, Role.LEAD).account):
        set_up = make_tower_set_up(
            season,
            picture_width_px=SCENE.camera.width,
            picture_height_px=SCENE.camera.height,
        )
        rows = [
            RowEntry(one.x_m, one.y_m, way_deg, SCENE.step_m, SCENE.per_row)
            for one, way_deg in ((first, 0.0), (other, 180.0))
        ]
        return make_run(season, *rows, name="Bow rows", set_up=set_up, grid=grid, stage=stage)


@pytest.fixture
def dives(season):
    left = datetime.datetime(2031, 6, 10, 9, tzinfo=datetime.UTC)
    day = make_day(season)
    for hours in (0, 3):
        at = left + datetime.timedelta(hours=hours)
        up = at + datetime.timedelta(minutes=40)
        make_dive(day, left_surface_at=at, reached_surface_at=up)


@pytest.fixture
def page(context, sign_in):
    sign_in(Role.LEAD)
    return context.new_page()


def work_off() -> None:
    while jobs := Job.objects.filter(state=JobState.WAITING):
        for job in jobs:
            perform(_claim(str(job.pk)))


def bring_in(page, at, folder, count, dive) -> None:
    page.goto(at("pictures"))
    page.get_by_role("link", name="Bring in a card").click()
    page.get_by_label("Dive", exact=True).select_option(index=dive)
    page.get_by_role("button", name="Go on to the files").click()
    page.locator("[data-folder]").set_input_files(folder)
    expect(page.get_by_text(f"All {count} files are here.")).to_be_visible(timeout=30_000)
    work_off()


def test_three_faults_are_told_shot_again_and_good(
    page, live_server, season, run, dives, tmp_path, watch
):
    def at(where):
        return f"{live_server.url}/s/{season.code}/{where}"

    there = [one for one in SCENE.stations if one.key != PASSED_OVER]
    bring_in(page, at, written(tmp_path / "FIRST", SCENE, there, 9), 23, 1)
    page.reload()
    # the ninth station of row 2 was passed over: the rest goes one station on
    page.locator("a[data-frame]").filter(has_text="T0920").click()
    page.get_by_role("button", name="All from here one station on").click()
    expect(page.get_by_text("No frame: row 2, station 9.")).to_be_visible()
    page.get_by_role("button", name="Accept the card").click()
    expect(page.get_by_text("photographs, accepted by")).to_be_visible()
    work_off()
    expect(page.get_by_text(f"Shoot again: {WORDS}.")).to_be_visible()

    page.get_by_role("link", name="To the run and its map").click()
    expect(page.locator(".answer")).to_contain_text(f"Do not move the rails. Shoot again: {WORDS}.")
    expect(page.locator("g.map-station.again[data-place]")).to_have_count(3)
    expect(page.locator("polygon.map-hole")).not_to_have_count(0)
    assert_holds_at_every_size(page)
    card = page.get_by_role("link", name="Card for shooting again (PDF)").get_attribute("href")
    assert page.request.get(live_server.url + card).body().startswith(b"%PDF")

    again = [one for one in AGAIN.stations if one.key in SPOILT]
    bring_in(page, at, written(tmp_path / "SECOND", AGAIN, again, 12), 3, 1)
    page.reload()
    page.get_by_role("button", name="Accept the card").click()
    expect(page.get_by_text(re.compile("Wait: |Good: "))).to_be_visible()
    work_off()
    expect(page.get_by_text("Good: the rails can move.")).to_be_visible()
    assert Card.objects.filter(run=run).count() == 2
