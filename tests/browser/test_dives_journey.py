"""A dive logged on a tablet with wet hands: real Chromium, real clock, human speed."""

import datetime
import re
import sys
import time
import uuid

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from records.acting import acting_as
from records.models import Dive, Role
from records.queries.dive_states import entry_of
from records.verbs.day_entry import DayEntry, ShiftEntry
from records.verbs.days import open_day
from records.verbs.dive_entry import CylinderEntry, DiveEntry, MemberEntry
from records.verbs.dives import log_dive
from tests.browser.conftest import (
    LAPTOP,
    PHONE,
    TABLET,
    assert_accessible,
    assert_reflows,
    assert_touchable,
)
from tests.factory import (
    make_diver,
    make_goal,
    make_grid,
    make_member,
    make_season,
    make_square,
    make_stage,
)

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

KEY_MS = 75  # a wet finger on glass
TAP_MS = 400
GOAL_S, LIMIT_S = 60, 120


def zone_of_noon() -> str:
    """A zone in which it is past noon now: no journey runs into midnight."""
    behind_utc_h = timezone.now().hour - 12
    return f"Etc/GMT{behind_utc_h:+d}" if behind_utc_h else "Etc/GMT"


@pytest.fixture
def season():
    season = make_season(zone=zone_of_noon())
    season.refresh_from_db()
    days = datetime.timedelta(days=5)
    season.starts_on, season.ends_on = season.today() - days, season.today() + days
    season.save()
    return season


@pytest.fixture
def squares(season):
    grid = make_grid(season.site, code="P", first_column="K", first_row="7")
    stage = make_stage(season, name="as found")
    return [make_goal(stage, make_square(grid, column)).square for column in range(4)]


@pytest.fixture
def crew(season):
    names = {"NO": "Niamh Orr", "JH": "Joao Heng", "KA": "Kenji Ado", "LP": "Leila Past"}
    return {i: make_diver(season.site, initials=i, name=name) for i, name in names.items()}


@pytest.fixture
def member(season):
    return make_member(season.site, Role.CREW)


@pytest.fixture
def yesterday(season, crew, member):
    """Yesterday's day with one dive: what today's forms may offer."""
    date = season.today() - datetime.timedelta(days=1)
    left = datetime.datetime.combine(date, datetime.time(9, 5), season.tz)
    shift = ShiftEntry("Ana Reis", datetime.time(8))
    with acting_as(member.account):
        day = open_day(
            season,
            DayEntry(date, "Gannet", "over the wreck", "Own team", supervisors=(shift,)),
            make_key(1),
        )
        team = tuple(
            MemberEntry(crew[one], gas="air", cylinders=(CylinderEntry(15, 210, 90),))
            for one in ("NO", "JH")
        )
        minutes = datetime.timedelta(minutes=40)
        entry = DiveEntry(day, left, left + minutes, greatest_depth_m=18, members=team)
        log_dive(season, entry, make_key(2))
    return day


def make_key(n: int) -> uuid.UUID:
    return uuid.UUID(int=n)


@pytest.fixture
def signed_in(go_under, member):
    def sign(context, who=member):
        go_under(who.account, context)
        return context.new_page()

    return sign


@pytest.fixture
def at(live_server, season):
    return lambda where: f"{live_server.url}/s/{season.code}/{where}"


class Hand:
    """Taps and types as a person does."""

    def __init__(self, page) -> None:
        self.page = page

    def tap(self, what) -> None:
        self.page.wait_for_timeout(TAP_MS)
        what.click()

    def type(self, field, text: str) -> None:
        self.tap(field)
        field.press_sequentially(text, delay=KEY_MS)

    def button(self, name: str) -> None:
        self.tap(self.page.get_by_role("button", name=name))

    def link(self, name: str) -> None:
        self.tap(self.page.get_by_role("link", name=name))

    def choice(self, name: str, nth: int = 0) -> None:
        self.tap(self.page.get_by_text(name, exact=True).nth(nth))


@pytest.mark.slow
def test_open_the_day_and_log_a_dive_within_a_minute(
    context, signed_in, at, season, squares, crew, yesterday, capsys
):
    page = signed_in(context)
    page.goto(at("shed"))
    hand = Hand(page)
    begun = time.monotonic()

    hand.link("Open the diving day, then log a dive")
    hand.link("Fill in the same as on")
    hand.type(page.get_by_label("Weather"), "overcast, S 3")
    hand.type(page.get_by_label("Sea state"), "slight")
    hand.button("Save the diving day")
    hand.link("Same team as dive 1: NO, JH")
    for row, pressures in enumerate((("210", "95"), ("205", "88"))):
        hand.type(page.get_by_label("Pressure in (bar)").nth(row), pressures[0])
        hand.type(page.get_by_label("Pressure out (bar)").nth(row), pressures[1])
    hand.type(page.get_by_label("Left the surface"), "1102")
    hand.type(page.get_by_label("Reached the surface"), "1144")
    hand.type(page.get_by_label("Greatest depth (metres)").last, "18.4")
    hand.type(page.get_by_label("Visibility (metres)"), "5")
    hand.type(page.get_by_label("Water (degrees Celsius)"), "13.5")
    hand.choice("recording squares")
    hand.type(page.locator("#id_tasks-0-squares"), "K7 L7")
    hand.choice("drawing")
    hand.choice("done")
    hand.type(page.locator("#id_tasks-0-minutes"), "36")
    hand.type(page.get_by_label("What this diver did and saw").first, "Jar rim at the south edge.")
    hand.button("Save the dive")
    expect(page.get_by_text("Dive 2 is saved.")).to_be_visible()

    seconds = time.monotonic() - begun
    told = f"The day opened and a dive logged in {seconds:.0f} s (goal {GOAL_S} s)."
    with capsys.disabled():
        sys.stdout.write(f"\n{told}\n")
    assert seconds < LIMIT_S
    dive = Dive.objects.get(n=2)
    entry = entry_of(dive)
    assert [m.diver.initials for m in entry.members] == ["NO", "JH"]
    assert [m.cylinders[0].bar_out for m in entry.members] == [95, 88]
    assert {str(task.square) for task in entry.tasks} == {"K7", "L7"}
    assert (entry.greatest_depth_m, entry.water_temperature_c) == (18.4, 13.5)
    assert dive.duration == datetime.timedelta(minutes=42)
    assert dive.day.vessel == "Gannet"
    assert dive.day.weather == "overcast, S 3"


@pytest.fixture
def today(season, member):
    with acting_as(member.account):
        shift = ShiftEntry("Ana Reis", datetime.time(8))
        return open_day(
            season,
            DayEntry(season.today(), "Gannet", "over the wreck", "Own team", supervisors=(shift,)),
            make_key(3),
        )


def test_a_dive_logged_as_it_leaves_and_surfaced_by_one_tap(
    context, signed_in, at, squares, crew, yesterday, today
):
    page = signed_in(context)
    page.goto(at("shed"))
    page.get_by_role("link", name="Log a dive", exact=True).click()
    page.get_by_role("button", name="KA", exact=True).click()
    page.get_by_role("button", name="LP", exact=True).click()
    page.get_by_role("button", name="Now Left the surface").click()
    page.get_by_text("recording squares").click()
    page.get_by_role("button", name="Save the dive").click()

    expect(page.get_by_text("KA, LP under water since")).to_be_visible()
    dive = Dive.objects.get(n=2)
    dive.left_surface_at -= datetime.timedelta(minutes=30)  # half an hour goes by
    dive.save()
    page.reload()
    page.get_by_role("button", name="Surfaced now").click()

    expect(page.get_by_text("Dive 2 has surfaced.")).to_be_visible()
    page.get_by_label("Greatest depth (metres)").last.fill("18")
    page.get_by_role("button", name="Save the dive").click()
    expect(page.get_by_text("Still to fill in: what was done.")).to_be_visible()
    dive.refresh_from_db()
    assert dive.reached_surface_at is not None


def test_chips_bring_divers_and_take_them_out_again(context, signed_in, at, crew, yesterday, today):
    page = signed_in(context)
    page.goto(at("dives/new"))
    chip = page.get_by_role("button", name="NO", exact=True)
    rows = page.locator("[data-rows=members] > [data-row]:visible")

    chip.click()
    expect(chip).to_have_attribute("aria-pressed", "true")
    expect(rows).to_have_count(1)
    page.get_by_role("button", name="As on dive 1: air, 15 l").click()
    expect(page.get_by_label("Cylinder (litres)").first).to_have_value("15")
    expect(page.get_by_label("Pressure in (bar)").first).to_have_value("")
    chip.click()
    expect(chip).to_have_attribute("aria-pressed", "false")
    expect(rows).to_have_count(0)
    chip.click()
    expect(rows).to_have_count(1)
    expect(page.get_by_label("Cylinder (litres)").first).to_have_value("15")


def test_the_squares_field_answers_as_one_leaves_it(context, signed_in, at, squares, today):
    page = signed_in(context)
    page.goto(at("dives/new?square=K7"))
    field = page.locator("#id_tasks-0-squares")
    expect(field).to_have_value("K7")

    field.fill("Z9")
    field.blur()
    expect(page.get_by_text("“Z9” is no square of this site")).to_be_visible()
    field.fill("L7")
    field.blur()
    expect(page.get_by_text("L7: drawing wanted; photographs wanted")).to_be_visible()


def fill_a_dive(page, remarks: str = "") -> None:
    for initials in ("KA", "LP"):
        page.get_by_role("button", name=initials, exact=True).click()
    page.get_by_label("Left the surface").fill("11:02")
    page.get_by_label("Reached the surface").fill("11:40")
    page.get_by_text("recording squares").click()
    page.get_by_label("Remarks").fill(remarks)


def test_a_connection_cut_in_the_middle_of_the_form_makes_one_dive(
    context, signed_in, at, crew, watch, today
):
    watch.forgive("ERR_INTERNET_DISCONNECTED")
    page = signed_in(context)
    page.goto(at("dives/new"))
    fill_a_dive(page, "Written before the cut.")
    page.wait_for_timeout(450)

    context.set_offline(True)
    page.get_by_role("button", name="Save the dive").click()
    expect(page.get_by_text("No connection to the shed's laptop")).to_be_visible()
    page.goto("about:blank")  # the tablet is shut and opened again
    context.set_offline(False)
    page.goto(at("dives/new"))

    expect(page.get_by_text("Dive 1 is saved.")).to_be_visible()
    dive = Dive.objects.get()
    assert dive.remarks == "Written before the cut."
    assert {member.diver.initials for member in dive.members.all()} == {"KA", "LP"}
    page.goto(at("dives/new"))
    page.wait_for_timeout(500)
    assert Dive.objects.count() == 1
    expect(page.get_by_label("Remarks")).to_have_value("")


def test_what_was_typed_stays_over_a_reload_team_and_work_included(
    context, signed_in, at, squares, crew, today
):
    page = signed_in(context)
    page.goto(at("dives/new"))
    fill_a_dive(page, "Half a story")
    page.get_by_label("Pressure in (bar)").first.fill("200")
    page.locator("#id_tasks-0-squares").fill("K7")
    page.get_by_role("button", name="More work").click()
    page.locator("[name$=-squares]:visible").nth(1).fill("L7")
    page.wait_for_timeout(450)

    page.reload()

    expect(page.get_by_text("Kept on this tablet")).to_be_visible()
    expect(page.get_by_label("Remarks")).to_have_value("Half a story")
    expect(page.get_by_role("button", name="KA", exact=True)).to_have_attribute(
        "aria-pressed", "true"
    )
    expect(page.locator("[data-rows=members] > [data-row]:visible")).to_have_count(2)
    expect(page.get_by_label("Pressure in (bar)").first).to_have_value("200")
    expect(page.locator("[name$=-squares]:visible").nth(1)).to_have_value("L7")


@pytest.fixture
def dive(season, crew, today, member):
    left = datetime.datetime.combine(today.date, datetime.time(11, 2), season.tz)
    entry = DiveEntry(
        today,
        left,
        left + datetime.timedelta(minutes=40),
        greatest_depth_m=18,
        members=(
            MemberEntry(crew["NO"], gas="air", cylinders=(CylinderEntry(15, 210, 90),)),
            MemberEntry(crew["JH"], gas="air", cylinders=(CylinderEntry(15, 200, 85),)),
        ),
    )
    with acting_as(member.account):
        return log_dive(season, entry, make_key(4))


def test_two_tablets_edit_one_dive(context, tablet, signed_in, at, dive, season):
    one = signed_in(context)
    other = signed_in(tablet(), make_member(season.site, Role.CREW))
    for page in (one, other):
        page.goto(at(f"dives/{dive.pk}/edit"))
    one.get_by_label("Visibility (metres)").fill("7")
    one.get_by_label("Pressure out (bar)").first.fill("80")
    one.get_by_role("button", name="Save the dive").click()
    expect(one.get_by_text("Dive 1 is saved.")).to_be_visible()

    other.get_by_label("Remarks").fill("Kelp on the line.")
    other.get_by_role("button", name="Save the dive").click()

    expect(other.get_by_text("Somebody else saved this record")).to_be_visible()
    changes = other.locator(".stale-block tbody")
    expect(changes).to_contain_text("visibility")
    expect(changes).to_contain_text("NO, cylinder 1: pressure out")
    expect(other.get_by_label("Remarks")).to_have_value("Kelp on the line.")
    dive.refresh_from_db()
    assert (dive.visibility_m, dive.remarks) == (7, "")
    other.get_by_label("Visibility (metres)").fill("7")
    other.get_by_label("Pressure out (bar)").first.fill("80")
    other.get_by_role("button", name="Save mine over it").click()
    expect(other.get_by_text("Dive 1 is saved.")).to_be_visible()
    dive.refresh_from_db()
    assert (dive.visibility_m, dive.remarks, dive.version) == (7, "Kelp on the line.", 3)


def test_an_unlikely_depth_is_asked_once(context, signed_in, at, crew, today):
    page = signed_in(context)
    page.goto(at("dives/new"))
    fill_a_dive(page)
    page.get_by_label("Greatest depth (metres)").last.fill("62")
    page.get_by_role("button", name="Save the dive").click()
    expect(page.get_by_text("62 m is deeper than 50 m.")).to_be_visible()

    page.get_by_text("Yes, it was so").click()
    page.get_by_role("button", name="Save the dive").click()

    expect(page.get_by_text("Dive 1 is saved.")).to_be_visible()
    assert Dive.objects.get().answers["greatest_depth_m"]["question"] == "62 m is deeper than 50 m."


def test_without_script_the_same_form_logs_a_dive(
    browser, tablet, signed_in, at, crew, squares, yesterday, today
):
    page = signed_in(tablet(java_script_enabled=False))
    page.goto(at("dives/new"))
    page.get_by_role("link", name="Same team as dive 1").click()
    page.get_by_label("Pressure in (bar)").first.fill("210")
    page.get_by_label("Pressure in (bar)").nth(2).fill("205")
    page.get_by_label("Left the surface").fill("11:02")
    page.get_by_label("Reached the surface").fill("11:40")
    page.get_by_label("recording squares").check()
    page.locator("#id_tasks-0-squares").fill("K7")
    page.get_by_label("drawing", exact=True).first.check()
    page.get_by_label("done", exact=True).first.check()
    page.get_by_role("button", name="Save the dive").click()

    expect(page.get_by_text("Dive 2 is saved.")).to_be_visible()
    assert Dive.objects.get(n=2).tasks.get().square == squares[0]


PAGES = ["shed", "days", "days/new", "dives", "dives/new", "{day}", "{day}/edit", "{dive}"]
PAGES += ["{dive}/edit", "{dive}/surface", "{dive}/void", "{day}/void"]


@pytest.mark.slow
def test_pages_are_accessible_touchable_and_reflow(
    context, signed_in, at, season, squares, dive, today
):
    page = signed_in(context, make_member(season.site, Role.LEAD))
    for where in PAGES:
        page.goto(at(where.format(day=f"days/{today.pk}", dive=f"dives/{dive.pk}")))
        for size in (PHONE, LAPTOP, {"width": 320, "height": 700}, TABLET):
            page.set_viewport_size(size)
            assert_reflows(page)
            assert_touchable(page)
        assert_accessible(page)
        assert page.locator("h1").count() == 1, where
        if not where.endswith("void"):
            expect(page.locator("main")).to_contain_text(re.compile("Caution", re.IGNORECASE))
