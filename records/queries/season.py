"""Where a season stands, and which season one means."""

import datetime
from collections.abc import Iterable
from dataclasses import dataclass

from records.models import Phase, Season


@dataclass(frozen=True)
class Standing:
    """Of a season on a day: `day` of `of` while it runs, else the days until or since."""

    phase: Phase
    day: int
    of: int
    days_until: int
    days_since: int


def standing(season: Season, on: datetime.date) -> Standing:
    of = (season.ends_on - season.starts_on).days + 1
    day = (on - season.starts_on).days + 1
    return Standing(
        phase=season.phase(),
        day=day if 1 <= day <= of else 0,
        of=of,
        days_until=max(0, 1 - day),
        days_since=max(0, day - of),
    )


def season_to_open(seasons: Iterable[Season]) -> Season | None:
    """The one that runs today; else the one begun last; else the next."""

    def distance(season: Season) -> tuple[int, int]:
        today = season.today()
        if season.starts_on > today:
            return (2, (season.starts_on - today).days)
        if season.ends_on < today:
            return (1, (today - season.starts_on).days)
        return (0, (today - season.starts_on).days)

    return min(seasons, key=distance, default=None)
