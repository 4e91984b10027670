"""The front end by itself, on sample pages: frame, parts, form, drafts, plan."""

import gzip
import re

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import (
    LAPTOP,
    PHONE,
    TABLET,
    assert_accessible,
    assert_reflows,
    assert_touchable,
)
from tests.browser.sample import pages
from tests.factory import make_member, make_season, make_site

pytestmark = [
    pytest.mark.slow,
    pytest.mark.browser,
    pytest.mark.django_db(transaction=True),
    pytest.mark.urls("tests.browser.sample.urls"),
]


@pytest.fixture(autouse=True)
def _empty_shelf():
    pages.SAVED.clear()
    pages.POSTS.clear()


@pytest.fixture
def season():
    return make_season(make_site())


@pytest.fixture
def sign_in(season, go_under):
    """Sign a member in on one tablet, without the sign-in page."""

    def signed_in(context, role="crew"):
        member = make_member(season.site, role)
        go_under(member.account, context)
        return member

    return signed_in


@pytest.fixture
def at(live_server, season):
    return lambda name: f"{live_server.url}/s/{season.code}/sample/{name}"


@pytest.fixture
def crew(context, sign_in):
    return sign_in(context)


def fill_dive(page, depth="18,4"):
    page.get_by_label("Left the surface").fill("930")
    page.get_by_label("Greatest depth").fill(depth)
    page.get_by_text("Recording", exact=True).click()
    page.get_by_label("Diver", exact=True).first.select_option("AB")


def expect_drafts(page, count) -> None:
    page.wait_for_function(
        """(count) => count === Object.keys(localStorage)
             .filter((key) => key.startsWith("draft:")).length""",
        arg=count,
    )


def kept(page) -> None:
    """Wait until what was typed last has reached the shelf."""
    page.wait_for_timeout(450)


@pytest.mark.parametrize("name", ["form", "parts", "plan", "done"])
def test_pages_are_accessible_touchable_and_reflow(page, at, crew, name):
    page.goto(at(name))
    for size in (PHONE, LAPTOP, {"width": 320, "height": 700}, TABLET):
        page.set_viewport_size(size)
        assert_reflows(page)
        assert_touchable(page)
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        assert_accessible(page)
    assert page.locator("h1").count() == 1


def test_reading_text_has_a_contrast_of_seven(page, at, crew):
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        page.goto(at("parts"))
        colours = page.evaluate(
            """() => Object.fromEntries(["paper", "sheet", "wash", "act-wash", "link-wash", "ink",
                 "ink-soft", "act", "link", "on-link", "line"].map((name) => {
                 const probe = document.createElement("i");
                 probe.style.setProperty("color", `var(--${name})`);
                 document.body.append(probe);
                 const shown = getComputedStyle(probe).color;
                 return [name, shown.match(/\\d+/g).slice(0, 3).map(Number)];
               }))"""
        )
        for text, grounds in {
            "ink": ("paper", "sheet", "wash", "act-wash", "link-wash"),
            "ink-soft": ("paper", "sheet", "wash"),
            "act": ("paper", "sheet", "act-wash"),
            "link": ("paper", "sheet", "wash", "link-wash"),
            "on-link": ("link",),
        }.items():
            for ground in grounds:
                ratio = _contrast(colours[text], colours[ground])
                assert ratio >= 7, f"{scheme}: {text} on {ground} has {ratio:.2f}"
        assert _contrast(colours["line"], colours["sheet"]) >= 3, scheme


def _contrast(one, other):
    """WCAG 2.2, relative luminance and contrast ratio."""

    def luminance(rgb):
        parts = [c / 255 for c in rgb]
        linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_focus_is_never_hidden_by_the_save_bar(page, at, crew):
    page.goto(at("form"))
    hidden = []
    for _ in range(30):
        page.keyboard.press("Tab")
        hidden += page.evaluate(
            """() => {
              const focus = document.activeElement;
              const bar = document.querySelector(".save-bar");
              if (focus === document.body || focus.closest(".save-bar, .places, .skip")) return [];
              const box = focus.getBoundingClientRect();
              const stuck = bar.getBoundingClientRect();
              const under = box.bottom > stuck.top && box.top < stuck.bottom;
              return under ? [focus.outerHTML.slice(0, 80)] : [];
            }"""
        )
    assert hidden == []


def test_now_fills_the_time_of_the_seasons_zone_and_stays_editable(page, at, crew):
    page.goto(at("form"))
    offset = page.evaluate("document.body.dataset.zoneOffset")
    minutes = (int(offset[1:3]) * 60 + int(offset[3:])) * (-1 if offset[0] == "-" else 1)

    page.get_by_role("button", name="Now Left the surface").click()

    there = page.evaluate(f"new Date(Date.now() + {minutes} * 60000).toISOString().slice(11, 16)")
    field = page.get_by_label("Left the surface")
    hours, minute = map(int, field.input_value().split(":"))
    told = hours * 60 + minute
    assert (int(there[:2]) * 60 + int(there[3:]) - told) % 1440 <= 1
    field.fill("09:15")
    expect(field).to_have_value("09:15")


def test_now_follows_the_serving_machine_where_the_tablets_clock_is_wrong(tablet, at, sign_in):
    context = tablet()
    sign_in(context)
    page = context.new_page()
    page.clock.install(time="2031-06-10T12:00:00Z")
    page.goto(at("form"))
    page.evaluate("document.body.dataset.servedAt")

    page.get_by_role("button", name="Now Left the surface").click()

    served = int(page.evaluate("document.body.dataset.servedAt"))
    offset = page.evaluate("document.body.dataset.zoneOffset")
    minutes = (int(offset[1:3]) * 60 + int(offset[3:])) * (-1 if offset[0] == "-" else 1)
    expected = (served // 60 + minutes) % 1440
    hours, minute = map(int, page.get_by_label("Left the surface").input_value().split(":"))
    assert (hours * 60 + minute - expected) % 1440 <= 1


def test_a_field_says_what_is_wrong_as_one_leaves_it(page, at, crew):
    page.goto(at("form"))
    depth = page.get_by_label("Greatest depth")
    depth.fill("1O")
    depth.blur()
    expect(page.locator("#id_depth_hint")).to_contain_text("This should be a number")
    depth.fill("400")
    depth.blur()
    expect(page.locator("#id_depth_hint")).to_contain_text("at most 130")
    depth.fill("18,4 m")
    depth.blur()
    expect(page.locator("#id_depth_hint")).to_have_text("")
    left = page.get_by_label("Left the surface")
    left.fill("945")
    left.blur()
    expect(left).to_have_value("09:45")


def test_errors_are_shown_in_place_and_nothing_typed_is_lost(page, at, crew):
    page.goto(at("form"))
    fill_dive(page, depth="400")
    page.get_by_role("button", name="Add a diver").click()
    page.get_by_label("What was seen and done").nth(1).fill("Silt lifted.")
    page.get_by_role("button", name="Save the dive").click()

    block = page.locator(".error-block")
    expect(block).to_be_focused()
    expect(block).to_contain_text("Greatest depth: This can be at most 130 m.")
    expect(page.get_by_label("What was seen and done").nth(1)).to_have_value("Silt lifted.")
    assert_accessible(page)
    block.get_by_role("link", name="Greatest depth").click()
    expect(page.get_by_label("Greatest depth")).to_be_focused()
    expect_drafts(page, 1)

    page.get_by_label("Greatest depth").fill("18.4")
    page.get_by_label("Diver", exact=True).nth(1).select_option("CD")
    page.get_by_role("button", name="Save the dive").click()
    expect(page.locator("#messages")).to_contain_text("Dive 12 is saved.")
    assert [saved["divers"] for saved in pages.SAVED.values()] == [["AB", "CD"]]
    expect_drafts(page, 0)


def test_unlikely_values_are_asked_once_and_stale_saves_need_knowing(page, at, crew):
    page.goto(at("form"))
    fill_dive(page, depth="75")
    page.get_by_label("Remarks").fill("stale")
    page.get_by_role("button", name="Save the dive").click()
    expect(page.locator(".ask-block")).to_be_focused()
    assert_accessible(page)
    page.get_by_label("Yes, it was so").check()
    page.get_by_role("button", name="Save the dive").click()

    stale = page.locator(".stale-block")
    expect(stale).to_contain_text("18.4")
    expect(page.get_by_label("Yes, it was so")).to_be_checked()
    expect(page.get_by_label("Remarks")).to_have_value("stale")
    assert_accessible(page)
    page.get_by_role("button", name="Save mine over it").click()
    expect(page.locator("#messages")).to_contain_text("saved")
    assert [saved["version"] for saved in pages.SAVED.values()] == [3]


def test_a_draft_outlives_a_reload_with_its_rows_and_is_thrown_away_only_knowingly(page, at, crew):
    page.goto(at("form"))
    fill_dive(page)
    page.get_by_label("In the dark").check()
    page.get_by_role("button", name="Add a diver").click()
    page.get_by_label("Diver", exact=True).nth(1).select_option("CD")
    page.get_by_role("button", name="Add a cylinder").nth(1).click()
    page.get_by_role("button", name="Add a cylinder").nth(1).click()
    page.get_by_label(re.compile("^Pressure in")).nth(2).fill("210")
    key = page.locator("#id_id").input_value()
    kept(page)

    page.reload()
    expect(page.locator(".kept")).to_contain_text("Not yet sent")
    assert_accessible(page)
    expect(page.get_by_label("Left the surface")).to_have_value(re.compile("0?9:?30"))
    expect(page.get_by_label("In the dark")).to_be_checked()
    expect(page.get_by_label("Recording")).to_be_checked()
    expect(page.get_by_label("Diver", exact=True).nth(1)).to_have_value("CD")
    expect(page.get_by_label(re.compile("^Pressure in")).nth(2)).to_have_value("210")
    expect(page.locator("#id_id")).to_have_value(key)

    page.get_by_role("button", name="Put it aside").click()
    expect(page.locator(".kept")).to_contain_text("Another one")
    expect(page.get_by_label("Left the surface")).to_have_value("")
    page.get_by_role("button", name="Show it").click()
    expect(page.get_by_label("Diver", exact=True).nth(1)).to_have_value("CD")

    page.get_by_role("button", name="Throw it away").click()
    expect_drafts(page, 1)
    page.get_by_role("button", name="Yes, throw away").click()
    expect(page.locator(".kept")).to_have_count(0)
    expect(page.get_by_label("Left the surface")).to_have_value("")
    expect_drafts(page, 0)


def test_a_row_taken_out_can_be_put_back(page, at, crew):
    page.goto(at("form"))
    page.get_by_role("button", name="Add a diver").click()
    page.get_by_label("Diver", exact=True).nth(1).select_option("CD")
    page.get_by_role("button", name="Take out Diver").nth(1).click()
    expect(page.get_by_role("button", name="Put it back")).to_be_focused()
    kept(page)
    page.reload()
    expect(page.locator(".row-gone")).to_have_count(1)
    page.get_by_role("button", name="Put it back").click()
    expect(page.get_by_label("Diver", exact=True).nth(1)).to_have_value("CD")


def test_without_a_connection_nothing_is_lost_and_one_dive_results(page, at, crew, context, watch):
    watch.forgive("ERR_INTERNET_DISCONNECTED")
    page.goto(at("form"))
    fill_dive(page)
    context.set_offline(True)
    page.get_by_role("button", name="Save the dive").click()
    expect(page.locator("[data-told]")).to_contain_text("Nothing is lost")
    expect(page.get_by_role("button", name="Go on writing")).to_be_visible()
    assert_accessible(page)

    context.set_offline(False)
    expect(page.locator("#messages")).to_contain_text("Dive 12 is saved.")
    assert len(pages.SAVED) == 1
    expect_drafts(page, 0)


def test_an_answer_lost_on_its_way_is_asked_for_again_with_the_same_key(page, at, crew, watch):
    watch.forgive("ERR_FAILED|ERR_CONNECTION")
    page.goto(at("form"))
    fill_dive(page)
    lost = []

    def lose_the_first_answer(route):
        if route.request.method == "POST" and not lost:
            lost.append(route.fetch(max_redirects=0).status)
            route.abort()
        else:
            route.continue_()

    page.route("**/sample/form", lose_the_first_answer)
    page.get_by_role("button", name="Save the dive").click()
    expect(page.locator("#messages")).to_contain_text("Dive 12 is saved.")
    assert lost == [204]
    assert len(pages.POSTS) == 2
    assert len(set(pages.POSTS)) == len(pages.SAVED) == 1


def test_a_form_left_waiting_is_sent_from_the_next_page(page, at, crew, watch):
    watch.forgive("ERR_FAILED")
    page.goto(at("form"))
    fill_dive(page)
    page.route("**/sample/form", lambda route: route.abort())
    page.get_by_role("button", name="Save the dive").click()
    expect(page.locator("[data-told]")).to_contain_text("Nothing is lost")
    page.unroute("**/sample/form")
    page.goto(at("parts"))
    expect(page.locator("#kept-elsewhere")).to_contain_text("Sent now: Shed · Log a dive")
    assert len(pages.SAVED) == 1
    expect_drafts(page, 0)


def test_a_draft_is_shown_only_to_the_account_that_typed_it(page, at, crew, context, sign_in):
    page.goto(at("form"))
    fill_dive(page)
    kept(page)
    sign_in(context)
    page.goto(at("form"))
    expect(page.get_by_label("Left the surface")).to_have_value("")
    expect(page.locator(".kept")).to_have_count(0)
    page.goto(at("done"))
    expect(page.locator(".kept")).to_have_count(0)
    expect_drafts(page, 1)


def test_a_second_tab_does_not_take_the_draft_that_is_open_in_the_first(page, at, crew, context):
    page.goto(at("form"))
    fill_dive(page)
    kept(page)
    other = context.new_page()
    other.goto(at("form"))
    expect(other.get_by_label("Left the surface")).to_have_value("")
    assert other.locator("#id_id").input_value() != page.locator("#id_id").input_value()


def test_back_after_saving_is_a_fresh_form_with_another_key(page, at, crew):
    page.goto(at("form"))
    fill_dive(page)
    first = page.locator("#id_id").input_value()
    page.get_by_role("button", name="Save the dive").click()
    expect(page.locator("#messages")).to_contain_text("Dive 12 is saved.")

    page.go_back()
    expect(page.get_by_label("Left the surface")).to_have_value("")
    assert page.locator("#id_id").input_value() != first
    fill_dive(page)
    page.get_by_role("button", name="Save the dive").click()
    expect(page.locator("#messages")).to_contain_text("Dive 12 is saved.")
    assert len(pages.SAVED) == 2


def test_back_from_another_page_brings_what_was_typed(page, at, crew):
    page.goto(at("form"))
    fill_dive(page)
    page.goto(at("done"))
    expect(page.locator("#kept-elsewhere")).to_contain_text("Not yet sent: Shed · Log a dive")
    page.go_back()
    expect(page.get_by_label("Greatest depth")).to_have_value("18,4")


def test_being_signed_out_meanwhile_keeps_the_draft(page, at, crew, context):
    page.goto(at("form"))
    fill_dive(page)
    context.clear_cookies(name="csrftoken")
    page.get_by_role("button", name="Save the dive").click()
    expect(page.locator("[data-told]")).to_contain_text("Not accepted")
    expect_drafts(page, 1)
    page.reload()
    page.get_by_role("button", name="Save the dive").click()
    expect(page.locator("#messages")).to_contain_text("Dive 12 is saved.")


def test_the_form_works_without_script(new_context, watch_context, at, sign_in):
    context = watch_context(new_context(java_script_enabled=False))
    sign_in(context)
    page = context.new_page()
    page.goto(at("form"))
    fill_dive(page, depth="400")
    page.get_by_role("button", name="Save the dive").click()
    expect(page.locator(".error-block")).to_contain_text("at most 130")
    page.get_by_label("Greatest depth").fill("18.4")
    page.get_by_role("button", name="Save the dive").click()
    expect(page.locator("#messages")).to_contain_text("Dive 12 is saved.")


def test_a_tap_anywhere_chooses_the_nearest_square_and_keys_move(page, at, crew):
    page.goto(at("plan"))
    plan = page.locator(".plan")
    box = plan.bounding_box()
    side = box["width"] / 10.2
    plan.click(position={"x": side * 2.5, "y": box["height"] - side * 1.5})
    expect(page.locator("#plan-card")).to_contain_text("Square 2 / 1")
    expect(page.locator("#plan-now")).to_contain_text("M2: drawing wanted")
    plan.focus()
    page.keyboard.press("ArrowUp")
    page.keyboard.press("ArrowRight")
    expect(page.locator("#plan-now")).to_contain_text("N3")
    page.keyboard.press("Enter")
    expect(page.locator("#plan-card")).to_contain_text("Square 3 / 2")
    assert_accessible(page)


def test_a_thousand_squares_stay_small(client, crew, season):
    client.force_login(crew.account, backend="records.sign_in.PasswordBackend")
    sent = client.get(f"/s/{season.code}/sample/plan?large", headers={"accept-encoding": "gzip"})

    assert sent["Content-Encoding"] == "gzip"
    assert "no-store" in sent["Cache-Control"]
    assert len(sent.content) <= 100_000
    assert gzip.decompress(sent.content).count(b"data-c=") == 1000
