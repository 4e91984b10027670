"""A picture's whole way in: asked whether it may, kept, recorded."""

from typing import Any

from django.utils.translation import gettext as _

from records.acting import acting_account
from records.intake.arrival import Readable
from records.intake.names import shown_name
from records.intake.originals import Pages, keep
from records.intake.recognise import Kind
from records.models import Picture, Season
from records.permissions import May, demand
from records.refusals import Refused
from records.verbs.guard import UNTIL_DEPOSITED, demand_open
from records.verbs.pictures import pair_raw, take_in_file, take_in_picture


def bring_in_picture(
    season: Season,
    stream: Readable,
    original_name: str,
    *,
    size_bytes: int | None = None,
    pages: Pages = Pages.FIRST,
    **described: Any,
) -> Picture:
    """Keep a file's bytes, then record them as a picture of the season's site.

    `described` is what `take_in_picture` takes. Never call it inside a transaction: bytes are
    kept before it, so that a row never speaks of a file that is not there.
    """
    demand_may_bring_in(season)
    kept = keep(stream, name=original_name, size_bytes=size_bytes, pages=pages)
    return take_in_picture(season, kept, original_name, **described)


def bring_in_raw(
    season: Season, picture: Picture, stream: Readable, original_name: str, *, size_bytes: int
) -> Picture:
    """Keep the raw file of a picture's exposure and name it there; never inside a transaction."""
    demand_may_bring_in(season)
    kept = keep(stream, name=original_name, size_bytes=size_bytes)
    if kept.what.kind is not Kind.RAW:
        raise Refused(
            _("%(name)s is no raw file of a camera. Bring a picture in by itself.")
            % {"name": shown_name(original_name)}
        )
    return pair_raw(season, picture, take_in_file(season, kept))


def demand_may_bring_in(season: Season) -> None:
    """Ask before anything is written to disk; the verb asks again, under its lock."""
    demand(acting_account(), season.site, May.RECORD)
    demand_open(season, UNTIL_DEPOSITED)
