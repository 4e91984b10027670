"""What is unlikely in a dive: asked once and kept with the answer. The record must be able to
say that a dive went too deep; nothing here judges a dive, and no decompression is computed."""

from collections.abc import Iterator

from django.db.models import Max
from django.utils.translation import gettext as _

from records.models import Dive, Gas, Season
from records.telling import told_number
from records.verbs.dive_entry import CylinderEntry, DiveEntry, MemberEntry
from records.verbs.dive_overlaps import Neighbour, short_intervals

# Common practice of scientific diving on air; only questions hang on them.
DEEP_M = 50
DEEPER_THAN_BEFORE_M = 10
LONG_MIN, SHORT_MIN = 120, 3
CLEAR_M = 40
COLD_C, WARM_C = 0, 32
LOW_BAR = 20

Asked = Iterator[tuple[str, str]]


def doubts(
    season: Season, entry: DiveEntry, dive: Dive | None, near: list[Neighbour]
) -> dict[str, str]:
    """Questions by a key that stays the same when the value does not."""
    return dict(
        [
            *_of_depth(season, entry, dive),
            *_of_time(entry),
            *_of_water(entry),
            *_of_team(entry),
            *short_intervals(near),
        ]
    )


def _of_depth(season: Season, entry: DiveEntry, dive: Dive | None) -> Asked:
    own = (member.greatest_depth_m or 0 for member in entry.members)
    depth = max(entry.greatest_depth_m or 0, *own, 0)
    before = (
        Dive.objects.standing()
        .filter(season=season, left_surface_at__lt=entry.left_surface_at)
        .exclude(pk=dive.pk if dive else None)
        .aggregate(deepest=Max("greatest_depth_m"))["deepest"]
    )
    if depth > DEEP_M:
        yield (
            "greatest_depth_m",
            _("%(depth)s m is deeper than %(limit)s m.")
            % {"depth": told_number(depth), "limit": DEEP_M},
        )
    elif before is not None and depth > before + DEEPER_THAN_BEFORE_M:
        yield (
            "greatest_depth_m",
            _("%(depth)s m is far deeper than any earlier dive of the season (%(before)s m).")
            % {"depth": told_number(depth), "before": told_number(before)},
        )


def _of_time(entry: DiveEntry) -> Asked:
    if entry.reached_surface_at is None:
        return
    minutes = int((entry.reached_surface_at - entry.left_surface_at).total_seconds() // 60)
    if minutes > LONG_MIN or minutes < SHORT_MIN:
        yield (
            "duration",
            _("From leaving to reaching the surface are %(minutes)s min.") % {"minutes": minutes},
        )
    for task in entry.tasks:
        if (task.minutes or 0) > minutes:
            yield (
                f"minutes.{task.id}",
                _("%(task)s min of work are more than the dive's %(dive)s min.")
                % {"task": task.minutes, "dive": minutes},
            )


def _of_water(entry: DiveEntry) -> Asked:
    if entry.visibility_m is not None and entry.visibility_m > CLEAR_M:
        yield (
            "visibility_m",
            _("A visibility of %(visibility)s m is uncommonly far.")
            % {"visibility": told_number(entry.visibility_m)},
        )
    warmth = entry.water_temperature_c
    if warmth is not None and not COLD_C <= warmth <= WARM_C:
        yield (
            "water_temperature_c",
            _("A water temperature of %(warmth)s °C is uncommon.")
            % {"warmth": told_number(warmth)},
        )


def _of_team(entry: DiveEntry) -> Asked:
    wet = [member for member in entry.members if member.in_the_water]
    if len(wet) == 1:
        yield "alone", _("%(who)s was in the water alone.") % {"who": wet[0].diver.initials}
    for member in entry.members:
        if member.gas == Gas.NITROX and member.oxygen_percent is None:
            yield (
                f"oxygen.{member.diver.pk}",
                _("The oxygen in the nitrox of %(who)s is not given.")
                % {"who": member.diver.initials},
            )
        for cylinder in member.cylinders:
            yield from _of_cylinder(member, cylinder)


def _of_cylinder(member: MemberEntry, cylinder: CylinderEntry) -> Asked:
    told = {"who": member.diver.initials, "out": cylinder.bar_out}
    if cylinder.bar_out is None:
        return
    if cylinder.bar_out == cylinder.bar_in:
        yield (
            f"bar_out.{cylinder.id}",
            _("A cylinder of %(who)s came back with all it had, %(out)s bar.") % told,
        )
    elif cylinder.bar_out < LOW_BAR:
        yield f"bar_out.{cylinder.id}", _("%(who)s came back with %(out)s bar.") % told
