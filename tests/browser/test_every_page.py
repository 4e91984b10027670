"""Every page that a director may open: accessible, within the policy, and within the window;
first in English, then with decimal commas and texts 40 % longer."""

import re

import pytest
from django.urls import reverse

from records.archive.registers import REGISTERS
from records.models import Role
from tests.browser.conftest import PHONE, TABLET, assert_accessible, assert_reflows
from tests.browser.pseudo_locale import spoken, stretched
from tests.factory import PASSWORD
from tests.records.walking import address, every_url, make_world

pytestmark = [pytest.mark.browser, pytest.mark.slow, pytest.mark.django_db(transaction=True)]

# Files, fragments of other pages, answers to a press, and pages for somebody signed out.
NO_PAGES = {
    *("health", "home", "sign_out", "first_account", "account_link", "sign_in"),
    *("register_file", "cross_index_file", "index_pdf"),
}
DECIMAL_COMMA_IN_DRAWING = re.compile(
    r' (?:viewBox|points|d|x|y|x1|y1|x2|y2|cx|cy|r|width|height|transform)="[^"]*\d,\d+[ "\)]'
)


@pytest.fixture
def world():
    return make_world()


def sign_in(page, live_server, account) -> None:
    page.goto(f"{live_server.url}{reverse('sign_in')}")
    page.fill("[name=username]", account.sign_in_name)
    page.fill("[name=password]", PASSWORD)
    page.press("[name=password]", "Enter")
    page.wait_for_url(re.compile("^(?!.*sign-in)"))


def pages_of(page, live_server, world, part):
    """Opens every other page in turn; what answers a GET with no HTML is passed over."""
    for number, pattern in enumerate(every_url()):
        if pattern.name in NO_PAGES or number % 2 != part:
            continue
        url = f"{live_server.url}{address(pattern, world)}"
        answer = page.request.get(url)
        kind = answer.headers.get("content-type", "")
        if answer.status == 405 or not kind.startswith("text/html"):
            continue
        if "<!doctype html" not in answer.text()[:200].lower():
            continue
        page.goto(url)
        yield pattern.name, url


def director_of(world):
    return world.members[Role.DIRECTOR].account


@pytest.mark.parametrize("part", [0, 1])
def test_every_page_is_accessible_keeps_to_the_policy_and_holds_longer_words(
    page, live_server, world, watch, settings, part
):
    sign_in(page, live_server, director_of(world))
    looked_at = []
    for name, url in pages_of(page, live_server, world, part):
        assert page.locator("h1").count() == 1, name
        assert_accessible(page)
        assert_reflows(page)
        assert watch.remaining() == [], name
        looked_at.append((name, url))
    assert len(looked_at) >= 25
    with spoken(settings):
        for name, url in looked_at:
            page.goto(url)
            for size in (TABLET, PHONE):
                page.set_viewport_size(size)
                assert_reflows(page)
            drawn = "".join(page.locator("svg").evaluate_all("all => all.map(s => s.outerHTML)"))
            assert not DECIMAL_COMMA_IN_DRAWING.search(drawn), name
            assert watch.remaining() == [], name
        page.goto(f"{live_server.url}{reverse('shed', args=[world.season.code])}")
        assert stretched("Season") in page.locator("nav").inner_text()


def test_no_column_of_a_register_falls_off_the_printed_page(page, live_server, world):
    """On A4 across, less its margins of 12 mm: 273 mm at 96 px an inch."""
    sign_in(page, live_server, director_of(world))
    page.emulate_media(media="print")
    page.set_viewport_size({"width": 1031, "height": 703})
    for name in REGISTERS:
        register = reverse("register", args=[world.season.code, name])
        page.goto(f"{live_server.url}{register}")
        table = page.locator(".register table").bounding_box()
        assert table["x"] + table["width"] <= 1031, name
        warned = page.locator(".caution").count() == 1
        assert warned == (name in {"days", "dives", "finds"}), name


def test_the_stretched_language_keeps_the_places_in_a_text():
    text = stretched("%(n)s of <b>{total}</b> squares, 98 %%")

    assert all(place in text for place in ("%(n)s", "<b>", "{total}", "</b>", "%%"))
    assert len(stretched("Save the dive")) >= 1.4 * len("Save the dive")
