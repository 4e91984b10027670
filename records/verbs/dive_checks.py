"""What cannot be in a dive: refused in words, each beside its place in the entry."""

import datetime
from collections import Counter
from collections.abc import Iterator

from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.translation import gettext as _

from records.local_time import clock
from records.models import (
    Cylinder,
    Dive,
    DiveMember,
    DiveTask,
    Gas,
    Record,
    Season,
    SquareGoal,
)
from records.refusals import Faults
from records.verbs.dive_entry import DiveEntry, MemberEntry, TaskEntry, plain_values

AHEAD = datetime.timedelta(minutes=5)  # tablets' clocks differ a little
LONGEST = datetime.timedelta(hours=12)  # beyond it, a time or a date was mistyped

Found = Iterator[tuple[str, str]]


def refuse_impossible(season: Season, entry: DiveEntry, dive: Dive | None) -> None:
    """Raises Faults with everything that cannot be. `dive` is the record as it stands, if any."""
    found = what_cannot_be(season, entry, dive)
    if found:
        raise Faults(found)


def what_cannot_be(season: Season, entry: DiveEntry, dive: Dive | None) -> list[tuple[str, str]]:
    return [
        *_of_fields(Dive(), entry, "", {"day", "members", "tasks"}),
        *_of_day_and_times(season, entry),
        *_of_team(season, entry, dive),
        *_of_tasks(season, entry, dive),
    ]


def _of_fields(record: Record, entry: object, place: str, but: set[str]) -> Found:
    """The limits that the record's own fields know."""
    values = plain_values(entry, but=but | {"id"})
    for name, value in values.items():
        setattr(record, name, value)
    exclude = {field.name for field in record._meta.fields} - set(values)
    try:
        record.clean_fields(exclude=exclude)
    except ValidationError as error:
        for name, words in error.message_dict.items():
            yield f"{place}{name}", words[0]


def _of_day_and_times(season: Season, entry: DiveEntry) -> Found:
    left, reached = entry.left_surface_at, entry.reached_surface_at
    latest = timezone.now() + AHEAD
    if entry.day.season_id != season.pk or entry.day.is_voided:
        yield "day", _("Choose a diving day of this season that is not void.")
    elif season.local(left).date() != entry.day.date:
        yield (
            "left_surface_at",
            _("This is not on the diving day (%(date)s). Choose the day on which the dive began.")
            % {"date": entry.day.date},
        )
    for name, at in (("left_surface_at", left), ("reached_surface_at", reached)):
        if at is not None and at > latest:
            yield name, _("This time has not come yet. A dive is logged as it happens or after.")
    yield from _of_span(left, reached)
    if (
        reached
        and entry.bottom_minutes
        and entry.bottom_minutes * 60 > (reached - left).total_seconds()
    ):
        yield "bottom_minutes", _("The bottom time is longer than the whole dive.")


def _of_span(left: datetime.datetime, reached: datetime.datetime | None) -> Found:
    if reached is None:
        return
    if reached <= left:
        yield (
            "reached_surface_at",
            _("The dive reached the surface before it left it. Mend one of the two times."),
        )
    elif reached - left > LONGEST:
        yield (
            "reached_surface_at",
            _("That would be a dive of more than 12 hours. Mend one of the two times."),
        )


def _of_team(season: Season, entry: DiveEntry, dive: Dive | None) -> Found:
    if not any(member.in_the_water for member in entry.members):
        yield "members", _("Name at least one diver who was in the water.")
    kept = set(dive.members.values_list("diver", flat=True)) if dive else set()
    times = Counter(diver.pk for diver in entry.divers)
    for index, member in enumerate(entry.members):
        place = f"members.{index}."
        diver = member.diver
        if times[diver.pk] > 1:
            yield f"{place}diver", _("%(who)s stands in the team twice.") % {"who": diver.initials}
        if diver.site_id != season.site_id or (diver.is_voided and diver.pk not in kept):
            yield f"{place}diver", _("This diver is not on the site's list of divers.")
        yield from _of_fields(DiveMember(), member, place, {"diver", "cylinders"})
        yield from _of_own(season, entry, member, place)
        yield from _of_gas(member, place)


def _of_own(season: Season, entry: DiveEntry, member: MemberEntry, place: str) -> Found:
    left, reached = entry.left_surface_at, entry.reached_surface_at
    end = reached or datetime.datetime.max.replace(tzinfo=datetime.UTC)
    span = {
        "from": clock(left, season.tz),
        "to": clock(reached, season.tz) if reached else _("now"),
    }
    outside = _("The dive went from %(from)s to %(to)s; this lies outside it.") % span
    for name in ("left_surface_at", "reached_surface_at"):
        at = getattr(member, name)
        if at is not None and not left <= at <= end:
            yield f"{place}{name}", outside
    down, up = entry.down_at(member), entry.up_at(member)
    if member.reached_surface_at and up is not None and up <= down:
        yield f"{place}reached_surface_at", _("This is before the diver went down.")
    greatest = entry.greatest_depth_m
    if greatest is not None and (member.greatest_depth_m or 0) > greatest:
        yield (
            f"{place}greatest_depth_m",
            _("Nobody can have been deeper than the dive's greatest depth."),
        )


def _of_gas(member: MemberEntry, place: str) -> Found:
    if member.oxygen_percent is not None and member.gas in {Gas.AIR, Gas.OXYGEN}:
        yield (
            f"{place}oxygen_percent",
            _("Only a mixture has its own share of oxygen. Choose the gas, or leave this empty."),
        )
    for index, cylinder in enumerate(member.cylinders):
        where = f"{place}cylinders.{index}."
        yield from _of_fields(Cylinder(), cylinder, where, set())
        if cylinder.bar_out is not None and cylinder.bar_out > cylinder.bar_in:
            yield f"{where}bar_out", _("A cylinder cannot come back fuller than it went in.")


def _of_tasks(season: Season, entry: DiveEntry, dive: Dive | None) -> Found:
    squares = {task.square.pk for task in entry.tasks if task.square}
    goals = SquareGoal.objects.standing().filter(square__in=squares, stage__season=season)
    opened = set(goals.values_list("square", "stage"))
    if dive:
        opened |= set(dive.tasks.values_list("square", "stage"))
    seen: set[tuple[object, ...]] = set()
    for index, task in enumerate(entry.tasks):
        place = f"tasks.{index}."
        yield from _of_fields(DiveTask(), task, place, {"square", "stage"})
        yield from _of_place(task, opened, place)
        same = (task.square, task.stage, task.method)
        if task.square is not None and same in seen:
            yield (
                f"{place}square",
                _("%(square)s stands here twice with the same work. Make it one line.")
                % {"square": task.square},
            )
        seen.add(same)


def _of_place(task: TaskEntry, opened: set[tuple[object, object]], place: str) -> Found:
    if task.square is None:
        if not task.where_in_words.strip():
            yield f"{place}where_in_words", _("Name the square, or say in words where it was.")
    elif task.where_in_words:
        yield f"{place}where_in_words", _("Give either the square or the place in words, not both.")
    elif task.stage is None or (task.square.pk, task.stage.pk) not in opened:
        yield (
            f"{place}square",
            _(
                "%(square)s is not open in this stage. The lead opens it on the plan; "
                "until then say in words where it was."
            )
            % {"square": task.square},
        )
