"""A one-time link, shown once to whoever asked for it, to be handed over."""

from dataclasses import dataclass
from typing import Any

import segno
from django.http import HttpRequest
from django.urls import reverse
from django.utils.safestring import SafeString, mark_safe

from records.sign_in import LINK_VALID

KEPT = "link_once"
ONLY_HERE = {"localhost", "127.0.0.1", "[::1]"}


@dataclass(frozen=True)
class LinkOnce:
    url: str
    qr: SafeString
    days: int
    only_on_this_computer: bool


def keep_link(request: HttpRequest, whose: Any, token: str) -> None:
    request.session[KEPT] = {str(whose): token}


def link_to_show(request: HttpRequest, whose: Any) -> LinkOnce | None:
    """The link kept for this page, taken away in the same breath."""
    token = request.session.get(KEPT, {}).get(str(whose))
    if token is None:
        return None
    del request.session[KEPT]
    url = request.build_absolute_uri(reverse("account_link", args=[token]))
    drawn = segno.make(url, micro=False).svg_inline(scale=5, light="#fff")
    host = request.get_host().rsplit(":", 1)[0]
    return LinkOnce(url, mark_safe(drawn), LINK_VALID.days, host in ONLY_HERE)  # noqa: S308
