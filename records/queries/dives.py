"""Dives as lists and pages tell them; a constant number of queries for any number of dives."""

import datetime
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db.models import Prefetch, QuerySet
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from records.models import (
    IN_THE_WATER,
    Card,
    Cylinder,
    Dive,
    DiveMember,
    Diver,
    DiveTask,
    Drawing,
    Outcome,
    Season,
    Square,
    TaskMethod,
)
from records.queries.square_words import told_squares
from records.telling import told_number

Missing = list[str]
SQUARES_TOLD = 6


@dataclass(frozen=True)
class DiveLine:
    """One dive in a list: who, when, how deep, what was done, what is still to fill in.

    `team`: initials, or how many they were for those who see no names."""

    dive: Dive
    team: str
    work: str
    minutes: int | None
    missing: Missing

    @property
    def depth(self) -> str:
        return told_number(self.dive.greatest_depth_m)

    @property
    def sentence(self) -> str:
        told = {
            "team": self.team or _("Nobody named"),
            "minutes": self.minutes,
            "depth": self.depth,
            "work": self.work or _("no work noted"),
        }
        if self.dive.is_voided:
            return _("This dive is void; its number stays.")
        if self.dive.is_under_way:
            return _("%(team)s under water: %(work)s.") % told
        if not self.depth:
            return _("%(team)s, %(minutes)s min: %(work)s.") % told
        return _("%(team)s, %(minutes)s min, to %(depth)s m: %(work)s.") % told


def with_all(dives: QuerySet[Dive]) -> QuerySet[Dive]:
    """What lines and pages need: team with cylinders, work with labelled squares."""
    members = DiveMember.objects.select_related("diver").order_by("made_at", "pk")
    tasks = DiveTask.objects.select_related("stage").order_by("made_at", "pk")
    return dives.select_related("season", "day").prefetch_related(
        Prefetch("members", members),
        Prefetch("members__cylinders", Cylinder.objects.order_by("made_at", "pk")),
        Prefetch("tasks", tasks),
        Prefetch("tasks__square", Square.objects.labelled()),
    )


def lines(dives: QuerySet[Dive], *, sees_names: bool) -> list[DiveLine]:
    return [line_of(dive, sees_names=sees_names) for dive in with_all(dives)]


def line_of(dive: Dive, *, sees_names: bool) -> DiveLine:
    length = dive.duration
    return DiveLine(
        dive=dive,
        team=_team(dive) if sees_names else _count(dive),
        work=_work(dive.tasks.all()),
        minutes=None if length is None else int(length.total_seconds() // 60),
        missing=[] if dive.is_voided or dive.is_under_way else missing_in(dive),
    )


def _team(dive: Dive) -> str:
    return ", ".join(member.diver.initials for member in dive.members.all())


def _count(dive: Dive) -> str:
    count = len(dive.members.all())
    words = ngettext("%(count)s person", "%(count)s people", count) % {"count": count}
    return words if count else ""


def _work(tasks: Iterable[DiveTask]) -> str:
    """`drawing K7 L7; cleaning the anchor`."""
    by_method: dict[str, list[DiveTask]] = defaultdict(list)
    for task in tasks:
        by_method[task.get_method_display()].append(task)
    return "; ".join(f"{method} {_where(work)}" for method, work in by_method.items())


def _where(tasks: list[DiveTask]) -> str:
    """Places in words stay on the dive's own page: they may tell a position."""
    squares = {task.square.pk: task.square for task in tasks if task.square}
    told = told_squares(list(squares.values())[:SQUARES_TOLD])
    if len(squares) > SQUARES_TOLD:
        told = _("%(squares)s and %(count)s more") % {
            "squares": told,
            "count": len(squares) - SQUARES_TOLD,
        }
    off = _("off the grid") if any(task.square is None for task in tasks) else ""
    return ", ".join(part for part in (told, off) if part)


def missing_in(dive: Dive) -> Missing:
    """What a surfaced dive's record still lacks, in words."""
    wet = [member for member in dive.members.all() if member.role in IN_THE_WATER]
    open_bottles = [
        member.diver.initials
        for member in wet
        if any(cylinder.bar_out is None for cylinder in member.cylinders.all())
    ]
    unsaid = [task for task in dive.tasks.all() if task.outcome == Outcome.NOT_STARTED]
    found = []
    if dive.greatest_depth_m is None:
        found.append(_("the greatest depth"))
    if open_bottles:
        found.append(_("the pressure out of %(who)s") % {"who": ", ".join(open_bottles)})
    if not dive.tasks.all():
        found.append(_("what was done"))
    elif unsaid:
        found.append(
            ngettext(
                "how %(count)s piece of work went", "how %(count)s pieces of work went", len(unsaid)
            )
            % {"count": len(unsaid)}
        )
    return found


def still_to_come_in(dive: Dive) -> set[str]:
    """Methods that the divers say they did on a surfaced dive, of which nothing has come in."""
    if dive.is_voided or dive.is_under_way:
        return set()
    did = {task.method for task in dive.tasks.all() if task.outcome in (Outcome.DONE, Outcome.PART)}
    came = {
        TaskMethod.PHOTOGRAPHS: Card.objects.standing().filter(dive=dive),
        TaskMethod.DRAWING: Drawing.objects.standing().filter(dive=dive),
    }
    return {method for method, records in came.items() if method in did and not records.exists()}


@dataclass(frozen=True)
class Filter:
    """Of the dive register; None or empty shows all."""

    day: UUID | None = None
    diver: UUID | None = None
    squares: tuple[Any, ...] = ()


def register(season: Season, chosen: Filter) -> QuerySet[Dive]:
    """The season's dives, void ones among them, the latest number first."""
    dives = Dive.objects.filter(season=season).order_by("-n")
    if chosen.day:
        dives = dives.filter(day=chosen.day)
    if chosen.diver:
        dives = dives.filter(members__diver=chosen.diver)
    if chosen.squares:
        dives = dives.filter(
            pk__in=DiveTask.objects.filter(square__in=chosen.squares).values("dive")
        )
    return dives


def under_way(season: Season) -> QuerySet[Dive]:
    return (
        Dive.objects.standing()
        .filter(season=season, reached_surface_at=None)
        .order_by("left_surface_at")
    )


def dives_of_day(season: Season, date: datetime.date) -> QuerySet[Dive]:
    return Dive.objects.standing().filter(season=season, day__date=date).order_by("left_surface_at")


def latest_surfaced(season: Season, count: int) -> list[Dive]:
    """The latest first."""
    dives = Dive.objects.standing().filter(season=season, reached_surface_at__isnull=False)
    return list(with_all(dives).order_by("-left_surface_at", "-n")[:count])


def divers_who_dived(season: Season) -> QuerySet[Diver]:
    return Diver.objects.filter(dives__dive__season=season).distinct().order_by("initials")
