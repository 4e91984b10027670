"""From clock times typed on a form to instants: past midnight, and the hours clocks repeat."""

import datetime
from zoneinfo import ZoneInfo

from django.utils import timezone
from django.utils.translation import gettext as _

from records.local_time import instants
from records.refusals import Refused
from records.verbs.dive_checks import AHEAD, LONGEST


class WhichHour(Refused):
    """The clocks showed this time twice."""


DAY = datetime.timedelta(days=1)


def left_at(
    on: datetime.date, at: datetime.time, zone: ZoneInfo, hour: str = ""
) -> datetime.datetime:
    """The instant on the diving day; raises Refused with the words for the field."""
    return _one_of(instants(on, at, zone), hour)


def reached_at(
    left: datetime.datetime, at: datetime.time, zone: ZoneInfo, hour: str = ""
) -> datetime.datetime:
    """The first such time after the dive began: on its day, or past midnight on the next."""
    on = left.astimezone(zone).date()
    possible = [
        instant
        for instant in (*instants(on, at, zone), *instants(on + DAY, at, zone))
        if left < instant <= left + LONGEST
    ]
    if not possible:
        if not instants(on, at, zone):
            return _one_of([], hour)
        raise Refused(
            _("The dive reached the surface before it left it. Mend one of the two times.")
        )
    return _one_of(_gone_by(possible), hour)


def own_at(
    left: datetime.datetime, up: datetime.datetime | None, at: datetime.time, zone: ZoneInfo
) -> datetime.datetime:
    """A member's own time within the dive, else one outside it for the verb to refuse."""
    on = left.astimezone(zone).date()
    every = [*instants(on, at, zone), *instants(on + DAY, at, zone)]
    within = [one for one in every if left <= one and (up is None or one <= up)]
    if not every:
        return _one_of([], "")
    return (_gone_by(within) or every)[0]


def _gone_by(possible: list[datetime.datetime]) -> list[datetime.datetime]:
    latest = timezone.now() + AHEAD
    return [one for one in possible if one <= latest] or possible


def _one_of(possible: list[datetime.datetime], hour: str) -> datetime.datetime:
    if not possible:
        raise Refused(_("The clocks went forward over this time: it was never shown."))
    if len(possible) == 1:
        return possible[0]
    if not hour:
        raise WhichHour(_("The clocks went back and showed this time twice. Say below which."))
    return possible[0] if hour == "first" else possible[-1]
