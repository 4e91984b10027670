"""What came in today, and what waits for somebody to look at it."""

import datetime
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from records.models import (
    Card,
    CardState,
    Drawing,
    DrawnSquare,
    Find,
    Photograph,
    Restriction,
    Season,
)
from records.queries.checks import of_latest_check
from records.queries.scans import scans_left


@dataclass(frozen=True)
class Arrivals:
    photographs: int
    drawings: int
    finds: int
    squares_to_check: int
    cards_to_accept: int
    scans_left: int

    @property
    def sentence(self) -> str:
        """What came in today; empty on a day on which nothing has."""
        counted = [
            (self.photographs, ngettext("%(n)s photograph", "%(n)s photographs", self.photographs)),
            (self.drawings, ngettext("%(n)s drawing", "%(n)s drawings", self.drawings)),
            (self.finds, ngettext("%(n)s find", "%(n)s finds", self.finds)),
        ]
        parts = [words % {"n": n} for n, words in counted if n]
        return _("Came in today: %(what)s.") % {"what": ", ".join(parts)} if parts else ""


def arrivals(season: Season, *, sees_restricted: bool) -> Arrivals:
    """A constant number of queries; the day is the season's."""
    midnight = datetime.datetime.combine(season.today(), datetime.time(), season.tz)

    def since(rows: Any) -> int:
        return int(rows.standing().filter(season=season, made_at__gte=midnight).count())

    finds = (
        Find.objects.all() if sees_restricted else Find.objects.filter(restriction=Restriction.NONE)
    )
    drawn = DrawnSquare.objects.standing().filter(drawing__season=season, drawing__voided_at=None)
    unchecked = drawn.annotate(verdict=of_latest_check("verdict"))
    cards = Card.objects.standing().filter(run__season=season, state=CardState.ARRIVING)
    return Arrivals(
        photographs=since(Photograph.objects.all()),
        drawings=since(Drawing.objects.all()),
        finds=since(finds),
        squares_to_check=unchecked.filter(verdict=None).count(),
        cards_to_accept=cards.count(),
        scans_left=scans_left(season),
    )
