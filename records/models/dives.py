"""Dives as they were: team, gas, times, what was done on which squares."""

import datetime
from typing import Any

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from records.models.base import Numbered, NumberKind, Record, Searchable, kept_history
from records.models.squares import Square, Stage

DEEPEST_M = 350
"""Beyond any breathing diver: such a depth is a slip of the finger and is refused."""


def depth_checks() -> list[Any]:
    return [MinValueValidator(0), MaxValueValidator(DEEPEST_M)]


class Purpose(models.TextChoices):
    RECORD = "record", _("recording squares")
    PHOTO_RUN = "photo_run", _("photo run")
    SURVEY = "survey", _("measuring and control")
    CLEARING = "clearing", _("clearing and lifting")
    RIGGING = "rigging", _("rigging grid and rails")
    SEARCH = "search", _("search")
    OTHER = "other", _("other work")


class Dive(Searchable, Numbered):
    searched = ("n", "remarks")
    number_kind = NumberKind.DIVE

    day = models.ForeignKey("records.DivingDay", on_delete=models.PROTECT, related_name="dives")
    purpose = models.CharField(
        _("purpose"), max_length=12, choices=Purpose.choices, default=Purpose.RECORD
    )
    left_surface_at = models.DateTimeField(_("left the surface"))
    reached_surface_at = models.DateTimeField(
        _("reached the surface"), null=True, blank=True, help_text=_("Empty while under way.")
    )
    greatest_depth_m = models.FloatField(
        _("greatest depth"), null=True, blank=True, validators=depth_checks()
    )
    bottom_minutes = models.PositiveSmallIntegerField(_("bottom time"), null=True, blank=True)
    visibility_m = models.FloatField(
        _("visibility"), null=True, blank=True, validators=[MinValueValidator(0)]
    )
    water_temperature_c = models.FloatField(
        _("water temperature"),
        null=True,
        blank=True,
        validators=[MinValueValidator(-3), MaxValueValidator(45)],
    )
    remarks = models.TextField(_("remarks"), blank=True)
    answers = models.JSONField(_("unlikely values, confirmed"), default=dict, blank=True)

    history = kept_history(excluded_fields=["search_text"])

    class Meta(Numbered.Meta):
        constraints = [
            *Numbered.Meta.constraints,
            models.CheckConstraint(
                name="dive_surfaces_after_leaving",
                condition=Q(reached_surface_at=None)
                | Q(reached_surface_at__gt=F("left_surface_at")),
                violation_error_message=_("A dive cannot end before it begins."),
            ),
            models.CheckConstraint(
                name="dive_depth_possible",
                condition=Q(greatest_depth_m=None)
                | Q(greatest_depth_m__gte=0, greatest_depth_m__lte=DEEPEST_M),
                violation_error_message=_("This depth cannot be."),
            ),
        ]

    @property
    def is_under_way(self) -> bool:
        return self.reached_surface_at is None and not self.is_voided

    @property
    def duration(self) -> datetime.timedelta | None:
        if self.reached_surface_at is None:
            return None
        return self.reached_surface_at - self.left_surface_at


class TeamRole(models.TextChoices):
    DIVER = "diver", _("diver")
    LEADER = "leader", _("dive leader")
    STANDBY = "standby", _("standby diver")
    TENDER = "tender", _("tender")


IN_THE_WATER = (TeamRole.DIVER, TeamRole.LEADER)


class Gas(models.TextChoices):
    AIR = "air", _("air")
    NITROX = "nitrox", _("nitrox")
    TRIMIX = "trimix", _("trimix")
    OXYGEN = "oxygen", _("oxygen")
    OTHER = "other", _("other mixture")


class DiveMember(Record):
    dive = models.ForeignKey(Dive, on_delete=models.PROTECT, related_name="members")
    diver = models.ForeignKey("records.Diver", on_delete=models.PROTECT, related_name="dives")
    role = models.CharField(
        _("part in the dive"), max_length=8, choices=TeamRole.choices, default=TeamRole.DIVER
    )
    gas = models.CharField(_("breathing gas"), max_length=8, choices=Gas.choices, blank=True)
    oxygen_percent = models.FloatField(
        _("oxygen in the mixture"),
        null=True,
        blank=True,
        validators=[MinValueValidator(1), MaxValueValidator(100)],
    )
    apparatus = models.CharField(_("breathing apparatus"), max_length=80, blank=True)
    left_surface_at = models.DateTimeField(_("own time down"), null=True, blank=True)
    reached_surface_at = models.DateTimeField(_("own time up"), null=True, blank=True)
    greatest_depth_m = models.FloatField(
        _("own greatest depth"), null=True, blank=True, validators=depth_checks()
    )
    narrative = models.TextField(_("what this diver did and saw"), blank=True)

    history = kept_history()

    class Meta(Record.Meta):
        ordering = ["made_at"]
        constraints = [
            *Record.Meta.constraints,
            models.UniqueConstraint(
                fields=["dive", "diver"],
                name="divemember_once_in_dive",
                violation_error_message=_("This diver is already in the team of this dive."),
            ),
        ]

    @property
    def season(self) -> Any:
        return self.dive.season

    @property
    def down_at(self) -> datetime.datetime:
        return self.left_surface_at or self.dive.left_surface_at

    @property
    def up_at(self) -> datetime.datetime | None:
        return self.reached_surface_at or self.dive.reached_surface_at


class Cylinder(Record):
    member = models.ForeignKey(DiveMember, on_delete=models.PROTECT, related_name="cylinders")
    size_l = models.FloatField(
        _("size"), validators=[MinValueValidator(0.1), MaxValueValidator(100)]
    )
    bar_in = models.PositiveSmallIntegerField(_("pressure in"), validators=[MaxValueValidator(400)])
    bar_out = models.PositiveSmallIntegerField(_("pressure out"), null=True, blank=True)

    history = kept_history()

    class Meta(Record.Meta):
        ordering = ["made_at"]
        constraints = [
            *Record.Meta.constraints,
            models.CheckConstraint(
                name="cylinder_does_not_fill_itself",
                condition=Q(bar_out=None) | Q(bar_out__lte=F("bar_in")),
                violation_error_message=_("A cylinder cannot come back fuller than it went in."),
            ),
        ]

    @property
    def season(self) -> Any:
        return self.member.dive.season


class TaskMethod(models.TextChoices):
    DRAWING = "drawing", _("drawing")
    PHOTOGRAPHS = "photographs", _("photographs")
    MEASURING = "measuring", _("measuring")
    CLEANING = "cleaning", _("cleaning")
    LIFTING = "lifting", _("lifting")
    OTHER = "other", _("other work")


class Outcome(models.TextChoices):
    DONE = "done", _("done")
    PART = "part", _("part done")
    NOTHING_VISIBLE = "nothing_visible", _("nothing visible")
    NOT_REACHED = "not_reached", _("could not be reached")
    NOT_STARTED = "not_started", _("not started")


class DiveTask(Record):
    """What was done on one square in one stage, or in words where no square is."""

    dive = models.ForeignKey(Dive, on_delete=models.PROTECT, related_name="tasks")
    stage = models.ForeignKey(
        Stage, on_delete=models.PROTECT, null=True, blank=True, related_name="tasks"
    )
    square = models.ForeignKey(
        Square, on_delete=models.PROTECT, null=True, blank=True, related_name="tasks"
    )
    where_in_words = models.CharField(_("where, in words"), max_length=160, blank=True)
    method = models.CharField(_("work"), max_length=12, choices=TaskMethod.choices)
    minutes = models.PositiveSmallIntegerField(_("minutes"), null=True, blank=True)
    outcome = models.CharField(_("outcome"), max_length=16, choices=Outcome.choices)

    history = kept_history()

    class Meta(Record.Meta):
        ordering = ["made_at"]
        constraints = [
            *Record.Meta.constraints,
            models.CheckConstraint(
                name="divetask_on_a_square_or_in_words",
                condition=Q(stage__isnull=False, square__isnull=False, where_in_words="")
                | (Q(stage=None, square=None) & ~Q(where_in_words="")),
                violation_error_message=_(
                    "A task names a square and its stage, or says in words where it was."
                ),
            ),
        ]

    @property
    def season(self) -> Any:
        return self.dive.season
