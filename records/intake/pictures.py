"""A picture's whole way in: asked whether it may, kept, recorded."""

from typing import Any

from records.acting import acting_account
from records.intake.arrival import Readable
from records.intake.originals import keep
from records.models import Picture, Season
from records.permissions import May, demand
from records.verbs.guard import UNTIL_DEPOSITED, demand_open
from records.verbs.pictures import take_in_picture


def bring_in_picture(
    season: Season,
    stream: Readable,
    original_name: str,
    *,
    size_bytes: int | None = None,
    **described: Any,
) -> Picture:
    """Keep a file's bytes, then record them as a picture of the season's site.

    `described` is what `take_in_picture` takes. Never call it inside a transaction: bytes are
    kept before it, so that a row never speaks of a file that is not there.
    """
    demand_may_bring_in(season)
    kept = keep(stream, name=original_name, size_bytes=size_bytes)
    return take_in_picture(season, kept, original_name, **described)


def demand_may_bring_in(season: Season) -> None:
    """Ask before anything is written to disk; the verb asks again, under its lock."""
    demand(acting_account(), season.site, May.RECORD)
    demand_open(season, UNTIL_DEPOSITED)
