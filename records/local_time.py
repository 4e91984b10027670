"""The wall clock of a season: which instants does a local time mean?"""

import datetime
from zoneinfo import ZoneInfo


def instants(on: datetime.date, at: datetime.time, zone: ZoneInfo) -> list[datetime.datetime]:
    """All instants (UTC) at which clocks there show this: none in an hour that the clocks skip,
    two in an hour that they repeat, else one."""
    shown = datetime.datetime.combine(on, at.replace(fold=0))
    meant = {shown.replace(tzinfo=zone, fold=fold).astimezone(datetime.UTC) for fold in (0, 1)}
    return sorted(
        instant for instant in meant if instant.astimezone(zone).replace(tzinfo=None) == shown
    )


def clock(at: datetime.datetime, zone: ZoneInfo) -> str:
    """Hours and minutes as the clocks there show them."""
    return f"{at.astimezone(zone):%H:%M}"


def to_the_minute(at: datetime.datetime) -> datetime.datetime:
    return at.replace(second=0, microsecond=0)
