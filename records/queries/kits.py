"""What may be offered for a new dive: the last team, and each diver's gas and cylinders."""

import json
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _

from records.models import Dive, DiveMember, Season
from records.queries.dives import latest_surfaced
from records.telling import told_number

TEAMS, LOOKED_AT = 2, 6
LATEST = 200  # members looked back over: more than any team dives in two days


@dataclass(frozen=True)
class Kit:
    """Gas and cylinders of a diver on an earlier dive; never its pressures."""

    words: str
    values: dict[str, Any] = field(default_factory=dict)

    @property
    def as_json(self) -> str:
        return json.dumps(self.values)


@dataclass(frozen=True)
class Offer:
    """The team of an earlier dive, to be taken over by one tap."""

    dive: Dive
    words: str
    members: list[dict[str, Any]]

    @property
    def as_json(self) -> str:
        return json.dumps(self.members)


def kits_of(season: Season) -> dict[UUID, Kit]:
    """By diver: the kit of the latest dive. Three queries."""
    members = (
        DiveMember.objects.filter(dive__season=season, dive__voided_at=None)
        .select_related("dive")
        .prefetch_related("cylinders")
        .order_by("-dive__left_surface_at")[:LATEST]
    )
    kits: dict[UUID, Kit] = {}
    for member in members:
        kit = kit_of(member)
        if kit and member.diver_id not in kits:
            kits[member.diver_id] = kit
    return kits


def kit_of(member: DiveMember) -> Kit | None:
    cylinders = sorted(member.cylinders.all(), key=lambda one: (one.made_at, str(one.pk)))
    if not member.gas and not cylinders:
        return None
    values: dict[str, Any] = {
        "gas": member.gas,
        "oxygen_percent": told_number(member.oxygen_percent),
        "apparatus": member.apparatus,
        "cylinders": [told_number(one.size_l) for one in cylinders],
    }
    sizes = " + ".join(_("%(size)s l") % {"size": size} for size in values["cylinders"])
    told = ", ".join(part for part in (_gas(member), sizes) if part)
    words = _("As on dive %(n)s: %(kit)s") % {"n": member.dive.n, "kit": told}
    return Kit(words, values)


def _gas(member: DiveMember) -> str:
    if member.oxygen_percent is None:
        return str(member.get_gas_display())
    share = told_number(member.oxygen_percent)
    return _("%(gas)s %(share)s %%") % {"gas": member.get_gas_display(), "share": share}


def offers_of(season: Season) -> list[Offer]:
    """The last teams that are not under water, each once."""
    offers: dict[frozenset[UUID], Offer] = {}
    for dive in latest_surfaced(season, LOOKED_AT):
        members = list(dive.members.all())
        if members:
            offers.setdefault(frozenset(m.diver_id for m in members), _offer(dive, members))
    return list(offers.values())[:TEAMS]


def _offer(dive: Dive, members: Iterable[DiveMember]) -> Offer:
    return Offer(
        dive,
        ", ".join(member.diver.initials for member in members),
        [
            {
                "diver": str(member.diver_id),
                "role": member.role,
                "kit": kit.values if (kit := kit_of(member)) else {},
            }
            for member in members
        ],
    )
