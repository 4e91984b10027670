"""The diving day: the operation's record, opened once a day and vessel."""

from typing import Any

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from records.models.base import Record, Searchable, kept_history


class DivingDay(Searchable, Record):
    searched = (
        "vessel",
        "place",
        "contractor",
        "weather",
        "sea_state",
        "current",
        "incidents",
        "hours_lost_reason",
        "diary",
    )

    season = models.ForeignKey("records.Season", on_delete=models.PROTECT, related_name="days")
    date = models.DateField(_("date"))
    vessel = models.CharField(_("vessel or platform"), max_length=80)
    place = models.CharField(_("place of diving"), max_length=160)
    contractor = models.CharField(_("diving contractor"), max_length=120)
    plan_reference = models.CharField(_("diving project plan"), max_length=120, blank=True)
    risk_assessment_reference = models.CharField(_("risk assessment"), max_length=120, blank=True)
    schedule_used = models.CharField(
        _("tables or computers used, as the supervisor told"), max_length=160, blank=True
    )
    briefing = models.TextField(_("briefing"), blank=True)
    pre_dive_checks = models.TextField(_("pre-dive checks"), blank=True)
    weather = models.CharField(_("weather"), max_length=120, blank=True)
    sea_state = models.CharField(_("sea state"), max_length=80, blank=True)
    current = models.CharField(_("current"), max_length=80, blank=True)
    emergency_arrangements = models.TextField(_("emergency arrangements"), blank=True)
    incidents = models.TextField(_("incidents"), blank=True)
    hours_lost = models.FloatField(
        _("hours lost"),
        default=0,
        validators=[MinValueValidator(0), MaxValueValidator(24)],
    )
    hours_lost_reason = models.CharField(_("why they were lost"), max_length=200, blank=True)
    diary = models.TextField(_("diary"), blank=True)
    answers = models.JSONField(_("unlikely values, confirmed"), default=dict, blank=True)

    history = kept_history(excluded_fields=["search_text"])

    class Meta(Record.Meta):
        ordering = ["-date", "vessel"]
        constraints = [
            *Record.Meta.constraints,
            models.UniqueConstraint(
                fields=["season", "date", "vessel"],
                condition=Q(voided_at=None),
                name="divingday_once_a_date_and_vessel",
                violation_error_message=_("This day is already open for this vessel."),
            ),
            models.CheckConstraint(
                name="divingday_hours_lost_in_a_day",
                condition=Q(hours_lost__gte=0, hours_lost__lte=24),
                violation_error_message=_("Hours lost lie between 0 and 24."),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.date} {self.vessel}"


class SupervisorShift(Record):
    """Who held the legal appointment for the day's diving, and from when to when."""

    day = models.ForeignKey(DivingDay, on_delete=models.PROTECT, related_name="supervisors")
    name = models.CharField(_("diving supervisor"), max_length=120)
    from_time = models.TimeField(_("from"))
    to_time = models.TimeField(_("until"), null=True, blank=True)

    history = kept_history()

    class Meta(Record.Meta):
        ordering = ["from_time"]
        constraints = [
            *Record.Meta.constraints,
            models.CheckConstraint(
                name="supervisorshift_ends_after_start",
                condition=Q(to_time=None) | Q(to_time__gt=F("from_time")),
                violation_error_message=_("A supervisor's hours cannot end before they begin."),
            ),
        ]

    @property
    def season(self) -> Any:
        return self.day.season
