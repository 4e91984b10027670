"""Real headless Chromium. A page fails its test on any Content-Security-Policy report, script
error, console error or request to the outside."""

import os
import re
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from django.test import Client

from tests.factory import make_member

# The shell is the same browser without its own windows and tabs, at half the cost.
BROWSERS = ("/usr/bin/chromium-headless-shell", "/usr/bin/chromium")
CHROMIUM = Path(os.environ.get("CHROMIUM") or next(filter(os.path.exists, BROWSERS), BROWSERS[0]))
DEMANDED = os.environ.get("REQUIRE_BROWSER") == "1"
TABLET = {"width": 820, "height": 1180}
PHONE = {"width": 390, "height": 844}
LAPTOP = {"width": 1280, "height": 800}
# Answers that a form shows in words are logged by the browser as failed loads.
EXPECTED_ANSWERS = re.compile(r"status of (401|403|404|409|422|429)\b")

_WATCH_POLICY = """
document.addEventListener("securitypolicyviolation", (event) =>
  console.error("CSP: " + event.violatedDirective + " " + event.blockedURI + " " + event.sample));
"""


@pytest.fixture(autouse=True, scope="session")
def _orm_beside_playwright():
    """Playwright keeps an event loop running; Django's ORM must not mind."""
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"


@pytest.fixture(autouse=True)
def _chromium_is_here():
    if CHROMIUM.exists():
        return
    words = f"NO BROWSER CHECKED: {CHROMIUM} is missing (Debian: apt-get install {CHROMIUM.name})."
    if DEMANDED:
        pytest.fail(words)
    pytest.skip(words)


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args):
    return {
        **browser_type_launch_args,
        "executable_path": str(CHROMIUM),
        "headless": True,
        "args": [
            "--no-sandbox",
            "--disable-gpu",
            "--disable-quic",
            "--no-first-run",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
        ],
    }


@pytest.fixture(scope="session")
def browser_context_args(browser_context_args):
    return {**browser_context_args, "viewport": TABLET, "locale": "en-GB"}


# What no other test tries, and what takes longest, is begun first: see BEGIN_UNTIL.
FIRST = "drawing_walk square_desk every_page front people_journey drawing_journey square_page"
_PLACE = {f"test_{name}.py": place for place, name in enumerate(FIRST.split())}


def pytest_collection_modifyitems(items):
    """Three browsers on two busy cores may lose a race once; twice is a fault. CI names each."""
    items.sort(key=lambda item: _PLACE.get(item.path.name, len(_PLACE)))
    if os.environ.get("ONCE_MORE") != "1":
        return
    for item in items:
        if "tests/browser/" in item.nodeid:
            item.add_marker(pytest.mark.flaky(reruns=1))


class Watch:
    """What went wrong on the pages of a test. `forgive(pattern)` names what a test provokes."""

    def __init__(self, home: str) -> None:
        self.home = urlsplit(home).netloc
        self.faults: list[str] = []
        self.forgiven = [EXPECTED_ANSWERS]

    def forgive(self, pattern: str) -> None:
        self.forgiven.append(re.compile(pattern))

    def on(self, page) -> None:
        page.on("console", self._console)
        page.on("pageerror", lambda error: self.faults.append(f"script error: {error}"))
        page.on("request", self._request)

    def _console(self, message) -> None:
        if message.type == "error":
            self.faults.append(f"console: {message.text}")

    def _request(self, request) -> None:
        address = urlsplit(request.url)
        if address.scheme in {"http", "https", "ws", "wss"} and address.netloc != self.home:
            self.faults.append(f"outside request: {request.url}")

    def remaining(self) -> list[str]:
        return [
            fault
            for fault in self.faults
            if not any(pattern.search(fault) for pattern in self.forgiven)
        ]


def follow(page, link: str) -> None:
    """Press a link and wait for the page it leads to."""
    before = page.url
    page.get_by_role("link", name=link).click()
    page.wait_for_url(lambda url: url != before)


@pytest.fixture
def watch(live_server):
    """Shared by all pages of a test; further contexts call `watch_context(context)`."""
    seen = Watch(live_server.url)
    yield seen
    assert seen.remaining() == []


@pytest.fixture
def watch_context(watch):
    def begin(context):
        context.add_init_script(_WATCH_POLICY)
        context.on("page", watch.on)
        return context

    return begin


@pytest.fixture(scope="session")
def _tablet_at_hand(browser, browser_context_args):
    """One tablet for all tests: to make one costs as much as many a test. Through the page that
    stays open its shelf is emptied once a test has closed its own."""
    context = browser.new_context(**browser_context_args)
    context.set_default_timeout(10_000)
    context.add_init_script(_WATCH_POLICY)
    yield context, context.new_cdp_session(context.new_page())
    context.close()


@pytest.fixture
def context(_tablet_at_hand, watch, live_server):
    """The tablet as it comes from the shop: no cookie, no draft, no page. What cannot be taken
    back, such as another clock, wants a `tablet()` of its own."""
    context, shelf = _tablet_at_hand
    (kept,) = context.pages
    context.on("page", watch.on)
    yield context
    context.remove_listener("page", watch.on)
    for page in context.pages:
        if page is not kept:
            page.close()
    context.set_offline(False)
    context.clear_cookies()
    shelf.send(
        "Storage.clearDataForOrigin", {"origin": live_server.url, "storageTypes": "local_storage"}
    )


@pytest.fixture
def tablet(new_context, watch_context):
    """A further tablet with its own cookies and drafts: `other = tablet().new_page()`."""

    def make(**options):
        made = new_context(**options)
        made.set_default_timeout(10_000)
        return watch_context(made)

    return make


@pytest.fixture
def go_under(context, live_server):
    """From now on the browser, or another context, goes under an account's name."""

    def go(account, context=context):
        client = Client()
        client.force_login(account, backend="records.sign_in.PasswordBackend")
        value = client.cookies["sessionid"].value
        context.add_cookies([{"name": "sessionid", "value": value, "url": live_server.url}])

    return go


@pytest.fixture
def sign_in(season, go_under):
    """Go under the name of a new member of the season's site, by role."""
    return lambda role: go_under(make_member(season.site, role).account)


def _wait_for_the_page(page) -> None:
    page.locator("h1").first.wait_for(state="attached")
    page.wait_for_load_state()


def assert_accessible(page, *, but: tuple[str, ...] = ()) -> None:
    """axe finds nothing against WCAG 2.2 AA; `but` names rule ids that a test explains."""
    from axe_playwright_python.sync_playwright import Axe

    _wait_for_the_page(page)
    tags = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
    only = {"runOnly": {"type": "tag", "values": tags}, "resultTypes": ["violations"]}
    report = Axe().run(page, options=only)
    found = [
        f"{fault['id']}: {fault['help']}: {[node['html'][:160] for node in fault['nodes'][:4]]}"
        for fault in report.response["violations"]
        if fault["id"] not in but
    ]
    assert found == [], page.url


def assert_reflows(page) -> None:
    """Nothing but a register or the plan's own box may be wider than the window."""
    _wait_for_the_page(page)
    wide = page.evaluate("document.scrollingElement.scrollWidth - window.innerWidth")
    assert wide <= 0, f"{page.url} is {wide} px too wide"


def assert_touchable(page) -> None:
    """Every button and control that stands by itself is at least 44 px both ways."""
    _wait_for_the_page(page)
    small = page.evaluate(
        """() => [...document.querySelectorAll(
             "button, a.button, select, textarea, summary, nav a, .chip, label.choice,"
             + " .choices label, input:not([type=hidden], [type=checkbox], [type=radio])")]
           .filter((one) => one.checkVisibility() && !one.closest(".unseen"))
           .map((one) => [one.outerHTML.slice(0, 90), one.getBoundingClientRect()])
           .filter(([, box]) => box.width > 0 && (box.width < 43.5 || box.height < 43.5))
           .map(([html, box]) => `${html} ${box.width.toFixed()} x ${box.height.toFixed()}`)"""
    )
    assert small == [], page.url


def assert_holds(page) -> None:
    """All of that where it is most needed: on a tablet, and on a phone where room is short."""
    assert_accessible(page)
    assert_touchable(page)
    page.set_viewport_size(PHONE)
    assert_reflows(page)
    assert_touchable(page)
    page.set_viewport_size(TABLET)


def assert_holds_at_every_size(page) -> None:
    """All of that, and on a laptop; the page is left as a tablet shows it. What axe asks of a page
    hardly depends on its size: the plan and the square's desk are asked on a phone too."""
    for size in (PHONE, LAPTOP, TABLET):
        page.set_viewport_size(size)
        assert_reflows(page)
        assert_touchable(page)
    assert_accessible(page)
