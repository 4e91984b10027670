"""Each role, another site's member, an administrator and a signed-out visitor over every URL:
every page is asked for, and everything is sent by all who may not and by those who may least.

Three things are compared: the table below (what the design says, one line a URL), the
permission that the view declares, and what it really answers. A URL that is missing from the
table, or a new kind of parameter, fails: whoever adds a page says here who may open it.
"""

from copy import copy
from dataclasses import dataclass
from functools import partial
from typing import Any

import pytest
from django.conf import settings
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.test import Client
from django.urls import URLPattern, reverse

from records import urls
from records.models import Role
from records.permissions import RANK, May, role_may
from records.sign_in import TABLET_COOKIE
from records.views.beyond_sites import ADMINISTRATOR, ANYBODY_SIGNED_IN, BY_PASSWORD
from tests import factory
from tests.records.reading import is_page, registers_of, tell_no_secrets, text_of
from tests.records.walking import World, address, every_url

pytestmark = pytest.mark.django_db

# Shown to the person who asked for it and to nobody else: 404 to these actors.
ONE_S_OWN = {"index_pdf"}

# Open to signed-out visitors, with what these get: (GET, POST).
PUBLIC = {
    "home": (302, 405),
    "health": (200, 405),
    "sign_in": (200, 422),
    "sign_out": (405, 302),
    "first_account": (404, 422),
    "account_link": (404, 422),
}
BEYOND_SITES = {
    "sites": ANYBODY_SIGNED_IN,
    "own_password": BY_PASSWORD,
    "site_new": ADMINISTRATOR,
    "accounts": ADMINISTRATOR,
    "account": ADMINISTRATOR,
    "account_edit": ADMINISTRATOR,
    "account_new_link": ADMINISTRATOR,
}
OF_A_SITE = {
    # people
    "people": May.DIRECT,
    "person_new": May.DIRECT,
    "member_new": May.DIRECT,
    "person": May.DIRECT,
    "person_edit": May.DIRECT,
    "person_pin": May.DIRECT,
    "person_link": May.DIRECT,
    "person_end": May.DIRECT,
    "tablets": May.DIRECT,
    "tablet_trust": May.DIRECT,
    "tablet_distrust": May.DIRECT,
    "divers": May.LEAD,
    "diver_new": May.LEAD,
    "diver": May.LEAD,
    "diver_edit": May.LEAD,
    "diver_void": May.LEAD,
    "paper_new": May.PAPERS,
    "paper_edit": May.PAPERS,
    "paper_void": May.PAPERS,
    # site and season
    "season_new": May.DIRECT,
    "season": May.SEE,
    "season_edit": May.DIRECT,
    "archive_index": May.SEE,
    "index_print": May.RECORD,
    "index_pdf": May.RECORD,
    "numbers": May.SEE,
    "cross_index": May.SEE,
    "cross_index_file": May.SEE,
    "numbers_file": May.SEE,
    "register": May.SEE,
    "register_file": May.SEE,
    "blocks": May.LEAD,
    "block_new": May.LEAD,
    "block": May.LEAD,
    "block_end": May.LEAD,
    "site": May.SEE,
    "site_edit": May.DIRECT,
    "anchor": May.LEAD,
    "anchor_set": May.DIRECT,
    "closing": May.DIRECT,
    "closing_step": May.DIRECT,
    "releases": May.DIRECT,
    "release_new": May.DIRECT,
    "release_withdraw": May.DIRECT,
    "copies": May.DIRECT,
    "sweep": May.DIRECT,
    # shed, days and dives
    "shed": May.SEE,
    "days": May.SEE,
    "day_new": May.RECORD,
    "day": May.SEE,
    "day_edit": May.RECORD,
    "day_void": May.LEAD,
    "dives": May.SEE,
    "dive_new": May.RECORD,
    "dive_squares": May.RECORD,
    "dive": May.SEE,
    "dive_edit": May.RECORD,
    "dive_surface": May.RECORD,
    "dive_void": May.LEAD,
    # plan, stages, squares
    "plan": May.SEE,
    "square_card": May.SEE,
    "square": May.SEE,
    "plan_report": May.SEE,
    "stages": May.LEAD,
    "stage": May.LEAD,
    "stage_goals": May.LEAD,
    "stage_exceptions": May.LEAD,
    "stage_name": May.LEAD,
    "stage_void": May.LEAD,
    "goal": May.LEAD,
    "goal_except": May.LEAD,
    "goal_close": May.LEAD,
    "exception_void": May.LEAD,
    "grids": May.DIRECT,
    "grid_new": May.DIRECT,
    "grid": May.DIRECT,
    "grid_grow": May.DIRECT,
    "grid_take_out": May.DIRECT,
    "grid_void": May.DIRECT,
    # pictures
    "pictures": May.SEE,
    "set_ups": May.SEE,
    "set_up_new": May.LEAD,
    "set_up": May.SEE,
    "set_up_base": May.LEAD,
    "set_up_marks": May.LEAD,
    "set_up_version_void": May.LEAD,
    "set_up_void": May.LEAD,
    "set_up_optics": May.SEE,
    "base_markers": May.SEE,
    "set_up_markers": May.LEAD,
    "lens_board": May.SEE,
    "set_up_lens": May.LEAD,
    "board_pictures": May.LEAD,
    "board_picture_out": May.LEAD,
    "runs": May.SEE,
    "run_new": May.RECORD,
    "run_plan": May.RECORD,
    "run": May.SEE,
    "run_card": May.SEE,
    "row_boards": May.SEE,
    "square_tags": May.SEE,
    "run_edit": May.RECORD,
    "run_void": May.LEAD,
    "card_new": May.RECORD,
    "card": May.RECORD,
    "card_edit": May.RECORD,
    "card_aside": May.RECORD,
    "card_held": May.RECORD,
    "card_file": May.RECORD,
    "card_files": May.RECORD,
    "card_read": May.RECORD,
    "card_move": May.RECORD,
    "card_accept": May.RECORD,
    "photo": May.SEE,
    "photo_new": May.RECORD,
    "photo_edit": May.RECORD,
    "photo_void": May.LEAD,
    "photo_points": May.RECORD,
    "frame_stand": May.LEAD,
    "frame_leave_out": May.LEAD,
    "frame_trust": May.LEAD,
    "dive_slate": May.RECORD,
    "pictures_made": May.SEE,
    "picture_file": May.SEE,
    "picture_original": May.RECORD,
    "picture_raw": May.RECORD,
    "window": May.SEE,
    "drawings": May.SEE,
    "scans": May.RECORD,
    "scan_file": May.RECORD,
    "scan_film": May.RECORD,
    "scan_again": May.RECORD,
    "scan_aside": May.RECORD,
    "page_aside": May.RECORD,
    "paged_original": May.RECORD,
    "sheets": May.RECORD,
    "sheets_new": May.RECORD,
    "board_new": May.RECORD,
    "sheets_print": May.RECORD,
    "sheet_print": May.RECORD,
    "sheet_void": May.LEAD,
    "drawing": May.SEE,
    "drawing_new": May.RECORD,
    "drawing_file": May.RECORD,
    "drawing_squares": May.RECORD,
    "drawn_square_marks": May.RECORD,
    "drawing_queue": May.LEAD,
    "drawing_check": May.LEAD,
    "drawn_square_void": May.LEAD,
    "drawing_edit": May.RECORD,
    "drawing_turn": May.RECORD,
    "drawing_void": May.LEAD,
    "comparison_new": May.RECORD,
    "comparison": May.SEE,
    "comparison_void": May.LEAD,
    "square_edges": May.SEE,
    "outlines": May.SEE,
    "outline_kinds": May.DIRECT,
    "outlines_geojson": May.SEE,
    "outlines_svg": May.SEE,
    "outline": May.SEE,
    "outline_edit": May.RECORD,
    "outline_void": May.LEAD,
    "outline_new": May.RECORD,
    # finds
    "finds": May.SEE,
    "find_new": May.RECORD,
    "find_register": May.RECORD,
    "find_stop": May.RECORD,
    "find_told": May.RECORD,
    "find": May.SEE,
    "find_edit": May.RECORD,
    "find_fix": May.RECORD,
    "find_pictures": May.RECORD,
    "find_picture_away": May.RECORD,
    "find_restrict": May.RECORD,
    "find_void": May.LEAD,
    # long work
    "job": May.RECORD,
    "job_stop": May.RECORD,
    "job_again": May.RECORD,
}


def fully(account: Any) -> Client:
    client = Client()
    client.force_login(account, "records.sign_in.PasswordBackend")
    return client


def by_pin(world: World) -> Client:
    client = Client()
    client.cookies[TABLET_COOKIE] = world.members["tablet"][1]
    member = world.members[Role.CREW]
    client.post(reverse("sign_in"), {"initials": member.initials, "pin": "7392"})
    assert "_auth_user_id" in client.session
    return client


@dataclass
class Actor:
    client: Client
    role: str | None = None  # on the world's site
    who: frozenset[str] = frozenset()
    signed_in: bool = True
    by_pin: bool = False


def actor_of(kind: str, world: World) -> Actor:
    plainly = frozenset({ANYBODY_SIGNED_IN, BY_PASSWORD})
    match kind:
        case "signed out":
            return Actor(Client(), signed_in=False)
        case "another site's director":
            other = factory.make_member(factory.make_season().site, Role.DIRECTOR)
            return Actor(fully(other.account), who=plainly)
        case "administrator without membership":
            account = factory.make_account(is_administrator=True)
            return Actor(fully(account), who=plainly | {ADMINISTRATOR})
        case "former director":
            left = factory.make_member(world.season.site, Role.DIRECTOR)
            left.voided_at, left.voided_by, left.void_reason = left.made_at, left.account, "left"
            left.save()
            return Actor(fully(left.account), who=plainly)
        case "crew by PIN":
            return Actor(by_pin(world), Role.CREW, frozenset({ANYBODY_SIGNED_IN}), by_pin=True)
    return Actor(fully(world.members[kind].account), kind, plainly)


KINDS = [
    *(role.value for role in Role),
    "crew by PIN",
    "another site's director",
    "administrator without membership",
    "former director",
    "signed out",
]


def ask(client: Client, method: str, path: str, **headers: str) -> Any:
    """One request, undone afterwards, so that the next finds the world as it was."""
    once = copy(client)
    once.raise_request_exception = False  # a fault is listed with the others
    once.cookies = client.cookies.copy()
    with transaction.atomic():
        try:
            return getattr(once, method.lower())(path, headers=headers)
        finally:
            transaction.set_rollback(True)


def leads_to_sign_in(answer: Any) -> bool:
    return answer.status_code == 302 and answer.url.startswith(reverse("sign_in"))


def is_sent_by(actor: Actor, pattern: URLPattern) -> bool:
    """Those who may more than is asked for came through the same gate with less."""
    may = OF_A_SITE.get(pattern.name)
    if may is None or actor.role is None or not role_may(actor.role, may):
        return True
    return not actor.by_pin and RANK[Role(actor.role)] == RANK[may.least_role]


def fault(actor: Actor, pattern: URLPattern, answer: Any) -> str:
    """What is wrong with an answer that is not 405, or nothing."""
    may, who = OF_A_SITE.get(pattern.name), BEYOND_SITES.get(pattern.name)
    if not actor.signed_in:
        return "" if leads_to_sign_in(answer) else "expected to be sent to the sign-in page"
    if may is not None and actor.role is None:
        return "" if answer.status_code == 404 else "expected 404"
    allowed = who in actor.who if may is None else role_may(actor.role, may)
    if not allowed:
        return "" if answer.status_code == 403 else "expected 403"
    if pattern.name in ONE_S_OWN:
        return "" if answer.status_code == 404 else "expected 404"
    if answer.status_code in {200, 204, 302, 303, 409, 422} and not leads_to_sign_in(answer):
        return ""
    return "expected the page"


def test_every_url_is_in_the_table_and_declares_what_the_table_says():
    said = {**dict.fromkeys(PUBLIC), **BEYOND_SITES, **OF_A_SITE}
    declared = {
        pattern.name: getattr(pattern.callback, "may", getattr(pattern.callback, "who", None))
        for pattern in every_url()
    }

    assert declared == said


@pytest.fixture(scope="module")
def offered() -> dict[tuple[str, str], bool]:
    """By URL and method: is it offered to those who may? Asked once, of the world of the module."""
    return {}


@pytest.fixture
def plain_refusals(monkeypatch):
    """Two pages that say the same whatever was refused: test_secrets.py reads them."""
    for status in (403, 404):
        plainly = partial(_refuse, status)
        monkeypatch.setattr(urls, f"handler{status}", plainly, raising=False)


def _refuse(status: int, _request: HttpRequest, exception: Exception) -> HttpResponse:
    return HttpResponse(str(exception), status=status)


@pytest.mark.usefixtures("plain_refusals")
@pytest.mark.parametrize("kind", KINDS)
def test_who_may_open_what(world, offered, kind):
    """And that what opens tells a member nothing that the role may not know."""
    actor = actor_of(kind, world)
    director = actor_of(Role.DIRECTOR, world)
    keeper = Actor(fully(factory.make_account(is_administrator=True)))
    faults, pages = [], []
    for pattern in every_url():
        path = address(pattern, world)
        got = ask(actor.client, "GET", path)
        if is_page(got):
            pages.append((pattern.name, text_of(got)))
        if pattern.name in PUBLIC:
            continue
        answers = [("GET", got)]
        if is_sent_by(actor, pattern):
            answers.append(("POST", ask(actor.client, "POST", path)))
        for method, answer in answers:
            if answer.status_code == 405:  # then nobody may: the method is not offered
                offer = pattern.name, method
                if offer not in offered:
                    opener = director if pattern.name in OF_A_SITE else keeper
                    offered[offer] = ask(opener.client, method, path).status_code != 405
                faults += [f"{kind}: {method} {path}: 405"] if offered[offer] else []
            elif words := fault(actor, pattern, answer):
                faults.append(f"{kind}: {method} {path}: {answer.status_code}, {words}")
    assert faults == []
    if kind in world.members:
        own = world.members[kind].account.name
        pages += registers_of(actor.client, world)
        tell_no_secrets(kind, [(name, text.replace(own, "")) for name, text in pages])


@pytest.mark.parametrize("name", PUBLIC)
def test_what_a_signed_out_visitor_gets(world, name):
    path = reverse(name, kwargs={"token": "never-one"} if PUBLIC[name][0] == 404 else {})

    answers = tuple(ask(Client(), method, path).status_code for method in ("GET", "POST"))

    assert answers == PUBLIC[name]


def test_a_fragment_asked_for_when_signed_out_sends_the_whole_page_to_sign_in(world):
    for pattern in every_url():
        if pattern.name in PUBLIC:
            continue
        answer = ask(Client(), "GET", address(pattern, world), **{"HX-Request": "true"})
        assert answer.status_code in {401, 405}, pattern.name
        assert answer.status_code == 405 or answer["HX-Redirect"] == reverse("sign_in")


def test_no_page_is_kept_by_the_browser_for_the_next_person(world):
    """A shared tablet: going back after signing out must not show the last person's pages."""
    client = actor_of(Role.DIRECTOR, world).client
    for name in ("season", "people", "anchor", "diver"):
        pattern = next(one for one in every_url() if one.name == name)
        assert "no-store" in ask(client, "GET", address(pattern, world))["Cache-Control"], name


def test_session_cookies_are_out_of_reach_of_scripts():
    assert settings.SESSION_COOKIE_HTTPONLY
    assert settings.SESSION_COOKIE_SAMESITE == "Lax"
