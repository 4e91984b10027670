"""One diver, one dive at a time: asked under the lock of the divers' rows, so that two tablets,
or two seasons of a site, cannot both be right."""

import datetime
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from uuid import UUID

from django.db.models import Q, QuerySet
from django.utils.translation import gettext as _

from records.local_time import clock
from records.models import IN_THE_WATER, Dive, DiveMember, Diver
from records.refusals import Faults
from records.verbs.dive_entry import DiveEntry, MemberEntry

SHORT_INTERVAL = datetime.timedelta(minutes=10)
NEVER = datetime.datetime.max.replace(tzinfo=datetime.UTC)


@dataclass(frozen=True)
class Neighbour:
    """Another dive of the same diver, at the same time or close by."""

    index: int
    diver: Diver
    other: DiveMember
    gap: datetime.timedelta

    @property
    def overlaps(self) -> bool:
        return self.gap < datetime.timedelta(0)


def lock_divers(entry: DiveEntry) -> None:
    """Lock order: after season and counter, by id."""
    wanted = [diver.pk for diver in entry.divers]
    list(Diver.objects.select_for_update(no_key=True).filter(pk__in=wanted).order_by("pk"))


def neighbours(entry: DiveEntry, dive: Dive | None) -> list[Neighbour]:
    """Other dives within a short interval of this one, of those in the water here."""
    wet = {m.diver.pk: (index, m) for index, m in enumerate(entry.members) if m.in_the_water}
    near = _near(entry, list(wet), dive)
    return [
        _neighbour(entry, *wet[other.diver_id], other)
        for other in near.select_related("dive", "diver").order_by("made_at")
    ]


def _near(entry: DiveEntry, divers: Iterable[UUID], dive: Dive | None) -> "QuerySet[DiveMember]":
    ends = entry.reached_surface_at or NEVER - SHORT_INTERVAL
    return DiveMember.objects.filter(
        Q(dive__reached_surface_at=None)
        | Q(dive__reached_surface_at__gt=entry.left_surface_at - SHORT_INTERVAL),
        dive__left_surface_at__lt=ends + SHORT_INTERVAL,
        dive__voided_at=None,
        diver__in=divers,
        role__in=IN_THE_WATER,
    ).exclude(dive=dive.pk if dive else None)


def _neighbour(entry: DiveEntry, index: int, member: MemberEntry, other: DiveMember) -> Neighbour:
    gap = max(
        entry.down_at(member) - (other.up_at or NEVER),
        other.down_at - (entry.up_at(member) or NEVER),
    )
    return Neighbour(index, member.diver, other, gap)


def refuse_two_dives_at_once(entry: DiveEntry, near: list[Neighbour]) -> None:
    found = [
        (f"members.{one.index}.diver", _overlap_words(entry, one)) for one in near if one.overlaps
    ]
    if found:
        raise Faults(found)


def short_intervals(near: list[Neighbour]) -> Iterator[tuple[str, str]]:
    for one in near:
        if not one.overlaps and one.gap < SHORT_INTERVAL:
            yield (
                f"interval.{one.diver.pk}.{one.other.dive_id}",
                _("Between dive %(n)s and this one, %(who)s had only %(minutes)s min.")
                % {
                    "who": one.diver.initials,
                    "minutes": int(one.gap.total_seconds() // 60),
                    "n": one.other.dive.n,
                },
            )


def _overlap_words(entry: DiveEntry, one: Neighbour) -> str:
    other = one.other
    zone = entry.day.season.tz
    told = {"who": one.diver.initials, "n": other.dive.n, "from": clock(other.down_at, zone)}
    if other.up_at is None:
        return (
            _("%(who)s is still down on dive %(n)s, since %(from)s. Say first when it surfaced.")
            % told
        )
    return _("%(who)s was in the water on dive %(n)s from %(from)s to %(to)s.") % {
        **told,
        "to": clock(other.up_at, zone),
    }
