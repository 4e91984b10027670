"""The registers of diving days and of dives."""

from typing import Any

from django.db.models import Count, Prefetch, Q, QuerySet
from django.utils.translation import gettext_lazy as _

from records.archive.registers.base import (
    Column,
    Narrowing,
    Register,
    Value,
    Viewer,
    choices_of,
    get,
    shown,
    those_who_record,
)
from records.models import Dive, DiveMember, DiveTask, DivingDay, Purpose, Square


def _days(viewer: Viewer) -> QuerySet[Any]:
    dives = Count("dives", filter=Q(dives__voided_at=None))
    days: QuerySet[Any] = DivingDay.objects.filter(season=viewer.season)
    days = days.annotate(dive_count=dives)
    return days.prefetch_related("supervisors")


def _supervisors(day: DivingDay) -> Value:
    return "; ".join(
        f"{one.name} {one.from_time:%H:%M}–{one.to_time:%H:%M}"
        if one.to_time
        else f"{one.name} {one.from_time:%H:%M}–"
        for one in day.supervisors.all()
    )


DAYS = Register(
    name="days",
    label=_("Diving days"),
    rows=_days,
    order=("date", "vessel"),
    searched_by=those_who_record,  # it also searches what readers do not see
    columns=(
        Column("date", _("Date"), get("date"), "date", is_link=True),
        Column("vessel", _("Vessel or platform"), get("vessel"), "vessel"),
        Column("place", _("Place of diving"), get("place"), seen_by=lambda v: v.sees_places),
        Column("contractor", _("Diving contractor"), get("contractor")),
        Column("supervisors", _("Supervisors"), _supervisors, seen_by=those_who_record),
        Column("weather", _("Weather"), get("weather")),
        Column("sea_state", _("Sea state"), get("sea_state")),
        Column("current", _("Current"), get("current")),
        Column("dives_count", _("Dives"), get("dive_count"), "dive_count"),
        Column("lost_h", _("Hours lost"), get("hours_lost"), "hours_lost"),
        Column("lost_why", _("Why"), get("hours_lost_reason")),
        Column("incidents", _("Incidents"), get("incidents"), seen_by=those_who_record),
        Column("diary", _("Diary"), get("diary"), seen_by=those_who_record),
        Column("void", _("Void because"), get("void_reason")),
    ),
    page_of=lambda day: ("day", [day.pk]),
)


def _dives(viewer: Viewer) -> QuerySet[Any]:
    dives = Dive.objects.filter(season=viewer.season).select_related("season", "day")
    squares = DiveTask.objects.select_related("stage").prefetch_related(
        Prefetch("square", Square.objects.labelled())
    )
    return dives.prefetch_related(
        Prefetch("members", DiveMember.objects.select_related("diver")),
        Prefetch("tasks", squares),
    )


def _minutes(dive: Dive) -> Value:
    return None if dive.duration is None else round(dive.duration.total_seconds() / 60)


def _team(dive: Dive) -> Value:
    return ", ".join(member.diver.initials for member in dive.members.all())


def _work(dive: Dive) -> Value:
    return _told(dive, with_places=True)


def _work_on_squares(dive: Dive) -> Value:
    return _told(dive, with_places=False)


def _told(dive: Dive, *, with_places: bool) -> str:
    """Squares of one stage, work and outcome together: "drawing done: R8, S8 (As found)".

    Places in words may tell a position: they are for those who dive there.
    """
    together: dict[tuple[str, str, str], list[str]] = {}
    for task in dive.tasks.all():
        said = (str(task.get_method_display()), str(task.get_outcome_display()))
        stage = f" ({task.stage})" if task.stage else ""
        off_grid = task.where_in_words if with_places else _("off the grid")
        where = task.square.label if task.square else str(off_grid)
        together.setdefault((*said, stage), []).append(where)
    return "; ".join(
        f"{method} {outcome}: {', '.join(squares)}{stage}"
        for (method, outcome, stage), squares in together.items()
    )


def _on_day(value: str) -> Q:
    return Q(day__date=value)


DIVES = Register(
    name="dives",
    label=_("Dives"),
    rows=_dives,
    searched_by=those_who_record,
    columns=(
        Column("number", _("Number"), get("number"), "n", is_link=True),
        Column("date", _("Date"), get("day.date"), "day__date"),
        Column("left_at", _("Left the surface"), get("left_surface_at"), "left_surface_at"),
        Column("reached_at", _("Reached the surface"), get("reached_surface_at")),
        Column("time_min", _("Dive time"), _minutes),
        Column("bottom_min", _("Bottom time"), get("bottom_minutes"), "bottom_minutes"),
        Column("depth_m", _("Greatest depth"), get("greatest_depth_m"), "greatest_depth_m"),
        Column("visibility_m", _("Visibility"), get("visibility_m"), "visibility_m"),
        Column("water_c", _("Water"), get("water_temperature_c"), "water_temperature_c"),
        Column("purpose", _("Purpose"), shown("purpose"), "purpose"),
        Column("team", _("Team"), _team, seen_by=those_who_record),
        Column("work", _("Work"), _work, seen_by=those_who_record),
        Column("work", _("Work"), _work_on_squares, seen_by=lambda v: not v.sees_people),
        Column("remarks", _("Remarks"), get("remarks"), seen_by=those_who_record),
        Column("void", _("Void because"), get("void_reason")),
    ),
    narrowings=(
        Narrowing("purpose", _("Purpose"), choices_of(Purpose), lambda value: Q(purpose=value)),
        Narrowing(
            "day",
            _("Day"),
            lambda season: [
                (str(day), str(day))
                for day in DivingDay.objects.standing()
                .filter(season=season)
                .order_by("date")
                .values_list("date", flat=True)
                .distinct()
            ],
            _on_day,
        ),
    ),
    page_of=lambda dive: ("dive", [dive.pk]),
)
