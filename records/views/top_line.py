"""What stands above and around every page: who, which site and season, the five places."""

from dataclasses import dataclass, field
from typing import Any, cast

from django.conf import settings
from django.http import HttpRequest
from django.urls import reverse
from django.utils.translation import gettext as _

from records.models import Account, Season, Site


@dataclass(frozen=True)
class Place:
    name: str
    label: str
    url: str
    current: bool


@dataclass(frozen=True)
class Frame:
    account: Account | None = None
    who: str = ""
    site: Site | None = None
    season: Season | None = None
    role: str = ""
    sees_names: bool = False
    places: list[Place] = field(default_factory=list)
    shed_profile: bool = True


def frame(request: HttpRequest) -> dict[str, Any]:
    """Context of base.html."""
    shed_profile = not settings.ON_SERVER
    user = getattr(request, "user", None)
    if user is None or not user.is_authenticated:
        return {"frame": Frame(shed_profile=shed_profile)}
    season = getattr(request, "season", None)
    membership = getattr(request, "membership", None)
    return {
        "frame": Frame(
            account=cast(Account, user),
            who=membership.account.name if membership else user.name,
            site=getattr(request, "site", None),
            season=season,
            role=membership.get_role_display() if membership else "",
            sees_names=getattr(request, "sees_names", False),
            places=_places(season, getattr(request, "place", "")) if season else [],
            shed_profile=shed_profile,
        )
    }


def _places(season: Season, current: str) -> list[Place]:
    named = [
        ("shed", _("Shed")),
        ("plan", _("Plan")),
        ("pictures", _("Pictures")),
        ("finds", _("Finds")),
        ("season", _("Season")),
    ]
    return [
        Place(name, label, reverse(name, args=[season.code]), name == current)
        for name, label in named
    ]
