"""Links only to pages that this person may open."""

from typing import Any

from django.urls import resolve, reverse

from records.views.frame import PageRequest


def door_to(request: PageRequest, name: str) -> str:
    """The address of a page of the season, or nothing where its view would refuse."""
    url = reverse(name, args=[request.season.code])
    view: Any = resolve(url).func
    return url if request.may(view.may) else ""
