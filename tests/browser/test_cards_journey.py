"""A card comes in over a shed's Wi-Fi: sent with a reload in the middle, mended, accepted."""

import datetime
import re
from dataclasses import dataclass

import cv2
import pytest
from PIL import Image
from playwright.sync_api import expect

from records.acting import acting_as
from records.jobs import _claim, perform
from records.models import Card, Frame, Job, JobState, Photograph, PhotoKind, Role
from records.verbs.tower import RowEntry
from tests import made_files, scenes
from tests.browser.conftest import (
    LAPTOP,
    assert_holds_at_every_size,
    follow,
)
from tests.factory import make_day, make_dive, make_grid, make_member, make_season, make_square
from tests.factory import make_stage as stage_of
from tests.factory_cards import (
    EVERY_S,
    arrive_all,
    begun_card,
    run_of_small_frames,
    taken_after,
)
from tests.factory_pictures import make_run, make_tower_set_up
from tests.processes import wait_until

pytestmark = [pytest.mark.slow, pytest.mark.browser, pytest.mark.django_db(transaction=True)]

STEP_M = 0.9


@dataclass(frozen=True)
class Taken:
    """A shot as it was really taken, which the person at the sheet has to find out."""

    name: str
    row: int
    station: int
    spoilt: bool = False


def shots() -> list[Taken]:
    """Two rows of twelve: row 1 station 6 was taken twice, row 2 station 8 was passed over."""
    stood = [(1, n) for n in range(1, 13)] + [(2, n) for n in range(1, 13) if n != 8]
    stood.insert(5, (1, 6))
    return [
        Taken(f"T{n:04d}.JPG", row, station, spoilt=n == 5)
        for n, (row, station) in enumerate(stood)
    ]


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """The card: 24 frames of one ground in a folder of the camera's own naming."""
    place = tmp_path_factory.mktemp("card") / "100TOWER"
    place.mkdir()
    for n, taken in enumerate(shots()):
        picture = Image.fromarray(frame_of(taken)).convert("RGB")
        content = made_files.encoded(picture, "JPEG", exif=taken_after(EVERY_S * n))
        (place / taken.name).write_bytes(content)
    return place


SCENE = scenes.Run(
    7,
    "structured",
    rows=2,
    per_row=12,
    step_m=STEP_M,
    row_step_m=0.7,
    camera=scenes.Camera(300, 200, 300.0),
)


def frame_of(taken: Taken):
    """The scene's rows run there and back, those of the card both the same way."""
    number = taken.station if taken.row == 1 else 13 - taken.station
    (station,) = [one for one in SCENE.stations if one.key == f"{taken.row}/{number}"]
    frame = SCENE.frame(station)
    return cv2.GaussianBlur(frame, (0, 0), 4.0) if taken.spoilt else frame


@pytest.fixture
def season():
    return make_season(zone="UTC")


@pytest.fixture
def run(season):
    grid, stage = make_grid(season.site, first_column="K", first_row="7"), stage_of(season)
    for column in range(11):
        for row in range(2):
            make_square(grid, column, row)
    with acting_as(make_member(season.site, Role.LEAD).account):
        set_up = make_tower_set_up(season, picture_width_px=300, picture_height_px=200)
        rows = [RowEntry(0.7, y, 0.0, STEP_M, 12) for y in (0.45, 1.15)]
        return make_run(season, *rows, name="South rows", set_up=set_up, grid=grid, stage=stage)


@pytest.fixture
def dive(season):
    left = datetime.datetime(2031, 6, 10, 9, tzinfo=datetime.UTC)
    return make_dive(
        make_day(season),
        left_surface_at=left,
        reached_surface_at=left + datetime.timedelta(minutes=40),
    )


@pytest.fixture
def member(season):
    return make_member(season.site, Role.CREW)


@pytest.fixture
def page(context, member, go_under):
    go_under(member.account)
    return context.new_page()


@pytest.fixture
def at(live_server, season):
    return lambda where: f"{live_server.url}/s/{season.code}/{where}"


def make_derivatives() -> None:
    for job in Job.objects.filter(kind="derivatives", state=JobState.WAITING):
        perform(_claim(str(job.pk)))


def frame_named(page, name: str):
    return page.locator("a[data-frame]").filter(has_text=name)


def test_a_card_with_a_reload_in_the_middle_is_mended_and_accepted(
    page, at, run, dive, folder, watch
):
    page.goto(at("pictures"))
    follow(page, "Bring in a card")
    assert_holds_at_every_size(page)
    page.get_by_role("button", name="Go on to the files").click()
    expect(page.get_by_text("No file of this card has come in yet.")).to_be_visible()

    cut_after(page, 10)
    watch.forgive("ERR_INTERNET_DISCONNECTED|ERR_ABORTED|ERR_FAILED")
    page.locator("[data-folder]").set_input_files(folder)
    expect(page.get_by_text("No answer from the shed's laptop")).to_be_visible()
    card = Card.objects.get()
    assert len(card.listing) == 24
    page.on("dialog", lambda dialog: dialog.accept())
    page.reload()
    page.unroute("**/file")

    told = page.get_by_text(re.compile(r"\d+ of 24 files of the card are here\."))
    wait_until(lambda: told.inner_text().startswith(f"{card.incoming.count()} of 24 "))
    assert 8 <= card.incoming.count() <= 12
    page.locator("[data-folder]").set_input_files(folder)
    expect(page.get_by_text("All 24 files are here.")).to_be_visible(timeout=30_000)
    expect(page.get_by_text("24 frames stand on their stations.")).to_be_visible()
    assert card.incoming.count() == 24
    make_derivatives()
    expect(page.locator("img[data-making]")).to_have_count(0)
    assert_holds_at_every_size(page)

    # the first try of row 1, station 6: by the keyboard
    frame_named(page, "T0004").click()
    expect(page.locator("#card-panel h2")).to_contain_text("row 1, station 5")
    page.keyboard.press("k")
    expect(page.locator("#card-panel h2")).to_contain_text("row 1, station 6")
    page.keyboard.press("l")
    page.keyboard.press("ArrowRight")
    expect(page.get_by_role("radio", name="Blurred")).to_be_checked()
    page.keyboard.press("Enter")
    expect(page.get_by_text("1 is left out.")).to_be_visible()
    expect(page.locator("#card-panel h2")).to_contain_text("T0006.JPG")

    # row 2, station 8 was passed over: by the button
    frame_named(page, "T0020").click()
    expect(page.locator("#card-panel h2")).to_contain_text("row 2, station 8")
    page.get_by_role("button", name="All from here one station on").click()
    expect(page.get_by_text("No frame: row 2, station 8.")).to_be_visible()
    expect(page.locator("g.map-station.gap[data-place]")).to_have_count(1)
    assert_holds_at_every_size(page)

    # a slip, and back
    frame_named(page, "T0000").focus()
    page.keyboard.press("l")
    expect(page.get_by_role("radio", name="Taken again")).to_be_focused()
    expect(page.locator("#card-panel h2")).to_contain_text("T0000.JPG")
    moves = iter(range(1, 3))
    with page.expect_response(lambda answer: answer.request.method == "POST" and next(moves) == 2):
        page.keyboard.press("Enter")
        page.keyboard.press("z")  # before the answer is here
    expect(page.get_by_text("1 is left out.")).to_be_visible()

    page.get_by_role("button", name="Accept the card").click()
    expect(page.get_by_text(re.compile("24 photographs, accepted by"))).to_be_visible()
    assert_holds_at_every_size(page)
    frames = Frame.objects.order_by("photograph__n").select_related("photograph__picture", "row")
    stood = [
        Taken(f.photograph.picture.original_name, f.row.order, f.station, not f.is_kept)
        for f in frames
    ]
    assert stood == shots()
    assert [frame.photograph.n for frame in frames] == list(range(1, 25))


def cut_after(page, count: int) -> None:
    """The connection carries so many files, then no more."""
    seen = []

    def carry(route):
        seen.append(route)
        if len(seen) <= count:
            route.continue_()
        else:
            route.abort("internetdisconnected")

    page.route("**/file", carry)


def test_a_file_that_is_no_picture_is_named_and_the_rest_comes_in(page, at, run, folder, tmp_path):
    card_folder = tmp_path / "card"
    card_folder.mkdir()
    for name in ("T0000.JPG", "T0001.JPG"):
        (card_folder / name).write_bytes((folder / name).read_bytes())
    (card_folder / "INDEX.CTG").write_bytes(b"the camera's own list" * 300)
    with acting_as(make_member(run.season.site, Role.CREW).account):
        card = begun_card(run)
    page.goto(at(f"cards/{card.pk}"))
    page.locator("[data-folder]").set_input_files(card_folder)

    expect(page.get_by_text("2 of 3 files are here; the others are told below.")).to_be_visible()
    expect(page.locator("[data-troubles]")).to_contain_text("INDEX.CTG: Whatever its name says")
    expect(page.get_by_text("1 file of the card was not taken in")).to_be_visible()
    page.locator("[data-files]").set_input_files([folder / "T0002.JPG"])
    expect(page.get_by_text("All 1 files are here.")).to_be_visible()


def test_a_frame_is_dragged_onto_another_station(page, at, season):
    with acting_as(make_member(season.site, Role.LEAD).account):
        card = begun_card(run_of_small_frames(season))
        arrive_all(card, 2)
    page.set_viewport_size(LAPTOP)
    page.goto(at(f"cards/{card.pk}"))
    frame_named(page, "P0000").drag_to(frame_named(page, "P0001"))

    expect(page.locator("a[data-frame]").first).to_contain_text("P0001")
    frame_named(page, "P0000").click()
    page.get_by_text("Put it on another station").click()
    page.get_by_label("Station", exact=True).select_option("row 1, station 3")
    page.get_by_role("button", name="Put it there").click()
    expect(page.get_by_text("No frame: row 1, station 2.")).to_be_visible()


def test_the_sheet_follows_what_another_tablet_sends(page, at, season):
    with acting_as(make_member(season.site, Role.LEAD).account):
        card = begun_card(run_of_small_frames(season))
        arrive_all(card, 1)
        page.goto(at(f"cards/{card.pk}"))
        expect(page.get_by_text("1 frame stands on its station.")).to_be_visible()
        arrive_all(card, 1, first=1)
    expect(page.get_by_text("2 frames stand on their stations.")).to_be_visible(timeout=15_000)


def test_a_slate_is_photographed_into_its_dive_with_one_tap(page, at, dive, tmp_path, watch):
    slate = tmp_path / "slate.jpg"
    slate.write_bytes(made_files.jpeg(640, 480, seed=9))
    page.goto(at(f"dives/{dive.pk}"))
    assert_holds_at_every_size(page)
    watch.forgive("ERR_INTERNET_DISCONNECTED|ERR_FAILED")
    tries = []

    def first_in_vain(route):
        tries.append(route)
        if len(tries) == 1:
            route.abort("internetdisconnected")
        else:
            route.continue_()

    page.route("**/slate", first_in_vain)
    page.locator("[data-slate-file]").set_input_files(slate)

    expect(page.get_by_text(re.compile("The slate is kept as .*-photo-1"))).to_be_visible()
    photograph = Photograph.objects.get()
    assert (photograph.kind, photograph.dive) == (PhotoKind.SLATE, dive)
    make_derivatives()
    page.get_by_role("link", name=photograph.number).click()
    expect(page.get_by_text(f"Slate of dive {dive.n}").first).to_be_visible()
    assert_holds_at_every_size(page)
