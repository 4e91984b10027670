"""What pages tell: every page that a role gets, read for what it must not be told."""

import re
from collections.abc import Iterable, Iterator
from typing import Any

from django.test import Client
from django.urls import reverse

from records.archive.registers import REGISTERS
from records.models import Role
from tests.records.walking import (
    GEOGRAPHIC,
    PERSONAL,
    PLACES_IN_WORDS,
    RESTRICTED,
    SITE_EN,
    World,
)

Page = tuple[str, str]
"""The URL's name and the text that it answered."""


def is_page(answer: Any) -> bool:
    return answer.status_code == 200 and not answer.streaming


def text_of(answer: Any) -> str:
    return answer.content.decode("utf-8", "replace")


def registers_of(client: Client, world: World) -> Iterator[Page]:
    """Each register on its page and as a file."""
    for name in REGISTERS:
        shown = client.get(reverse("register", args=[world.season.code, name]))
        file = client.get(reverse("register_file", args=[world.season.code, name, "archive"]))
        for content in (shown.content, file.getvalue()):
            yield f"register {name}", content.decode()


def told(pages: Iterable[Page], secrets: set[str]) -> set[tuple[str, str]]:
    return {(name, secret) for name, text in pages for secret in secrets if stands_in(text, secret)}


def stands_in(text: str, secret: str) -> bool:
    """A number counts where it stands as one: the random keys in addresses hold any digits."""
    if secret[0].isdigit():
        whole = rf"(?<!\w)(?<!\w-){re.escape(secret)}(?!\d*[A-Za-z_-])"
        return re.search(whole, text) is not None
    return secret in text


def tell_no_secrets(role: str, pages: list[Page]) -> None:
    """Of all pages that the role got, without the reader's own name."""
    match role:
        case Role.READER:
            secrets = GEOGRAPHIC | SITE_EN | PERSONAL | PLACES_IN_WORDS | RESTRICTED
            shown = told(pages, secrets)
            assert shown == set(), shown
        case Role.CREW:
            hidden = (GEOGRAPHIC - {"Secretcove"}) | {"Secretpaper"} | RESTRICTED
            shown = told(pages, hidden | PLACES_IN_WORDS)
            assert {("dive", "Secretspot"), ("register dives", "Secretspot")} <= shown
            assert {secret for _name, secret in shown} == PLACES_IN_WORDS
        case Role.LEAD | Role.DIRECTOR:
            shown = told(pages, {"37.246813", "Secretdatum", "Secretpaper"} | RESTRICTED)
            anchored = {("anchor", "37.246813"), ("anchor", "Secretdatum")}
            assert anchored | {("diver", "Secretpaper"), ("finds", "Secretbones")} <= shown
