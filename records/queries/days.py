"""Diving days as pages ask for them."""

import json
from dataclasses import dataclass
from typing import Any

from django.db.models import Count, Q, QuerySet

from records.models import DivingDay, Season
from records.queries.day_changes import day_entry_of
from records.verbs.day_entry import DayEntry


@dataclass(frozen=True)
class DayOffer:
    """The last diving day before, whose operation may be taken over by one tap."""

    day: DivingDay
    entry: DayEntry
    values: dict[str, Any]

    @property
    def as_json(self) -> str:
        return json.dumps(self.values, default=_clock)


def _clock(value: Any) -> str:
    return f"{value:%H:%M}"


def days_of(season: Season) -> QuerySet[DivingDay]:
    """The latest first, each with the number of its standing dives."""
    standing = Count("dives", filter=Q(dives__voided_at=None))
    days: QuerySet[DivingDay] = DivingDay.objects.filter(season=season)
    return days.annotate(dive_count=standing).order_by("-date", "vessel")


def last_day(season: Season) -> DivingDay | None:
    return DivingDay.objects.standing().filter(season=season).order_by("-date", "-made_at").first()


def day_offer(season: Season, same_operation: Any) -> DayOffer | None:
    day = last_day(season)
    if day is None:
        return None
    entry = day_entry_of(day)
    return DayOffer(day, entry, same_operation(entry))
