"""What the shed page tells: today's dives, who is down, which squares still want recording."""

import datetime
from collections import Counter
from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from records.models import DivingDay, Phase, Season
from records.queries.dives import DiveLine, dives_of_day, lines, under_way
from records.queries.evidence import State
from records.queries.season import standing
from records.queries.squares import SquareState, grids_of, states_of

SHOWN = 6


@dataclass(frozen=True)
class Wanting:
    """Squares with a goal: how many, how many lack something, the first that no diver has done."""

    goals: int
    missing: int
    said_done: int
    first: list[SquareState]

    @property
    def more(self) -> int:
        return self.missing - self.said_done - len(self.first)


@dataclass(frozen=True)
class Today:
    season: Season
    date: datetime.date
    days: list[DivingDay]
    under_way: list[DiveLine]
    dives: list[DiveLine]
    wanting: Wanting

    @property
    def done(self) -> int:
        return sum(line.dive.reached_surface_at is not None for line in self.dives)

    @property
    def sentence(self) -> str:
        told = (self._of_season(), self._of_dives(), self._of_squares())
        return " ".join(words for words in told if words)

    def _of_season(self) -> str:
        stands = standing(self.season, self.date)
        if stands.phase != Phase.OPEN:
            return _("Fieldwork is closed.")
        if stands.day:
            return _("Day %(day)s of %(of)s.") % {"day": stands.day, "of": stands.of}
        if stands.days_until:
            return ngettext(
                "The season begins in %(count)s day.",
                "The season begins in %(count)s days.",
                stands.days_until,
            ) % {"count": stands.days_until}
        return _("The season's last day is past.")

    def _of_dives(self) -> str:
        if self.under_way:
            divers = "; ".join(line.team for line in self.under_way)
            return _("%(who)s under water.") % {"who": divers}
        if self.date > self.season.ends_on and not self.days:
            return ""
        if not self.days:
            return _("The diving day is not open yet.")
        if not self.done:
            return _("No dive yet today.")
        return ngettext("%(count)s dive today.", "%(count)s dives today.", self.done) % {
            "count": self.done
        }

    def _of_squares(self) -> str:
        wanting = self.wanting
        if not wanting.goals:
            return _("No square is asked for yet.")
        if not wanting.missing:
            return _("Nothing is missing on the plan.")
        return ngettext(
            "%(missing)s of %(goals)s square still wants recording.",
            "%(missing)s of %(goals)s squares still want recording.",
            wanting.goals,
        ) % {"missing": wanting.missing, "goals": wanting.goals}


def today(season: Season, *, sees_names: bool) -> Today:
    date = season.today()
    return Today(
        season=season,
        date=date,
        days=list(DivingDay.objects.standing().filter(season=season, date=date)),
        under_way=lines(under_way(season), sees_names=sees_names),
        dives=lines(dives_of_day(season, date), sees_names=sees_names),
        wanting=wanting(season),
    )


def wanting(season: Season) -> Wanting:
    states = [one for one in states_of(season, grids_of(season.site)) if one.is_wanted]
    missing = [one for one in states if one.missing]
    undone = [one for one in missing if _is_undone(one)]
    most = Counter(one.grid.pk for one in undone)
    undone.sort(key=lambda one: -most[one.grid.pk])  # the grid that most is left to do on first
    return Wanting(len(states), len(missing), len(missing) - len(undone), undone[:SHOWN])


def _is_undone(square: SquareState) -> bool:
    """Something is missing that no diver has said to be done."""
    return any(one.is_missing and one.state != State.SAID_DONE for one in square.methods)
