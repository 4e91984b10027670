"""Seasons and what closes them."""

import datetime
from decimal import Decimal
from zoneinfo import ZoneInfo, available_timezones

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from records.models.base import Record, kept_history


def check_zone(name: str) -> None:
    if name not in available_timezones():
        raise ValidationError(
            _("“%(name)s” is no time zone. Write it like Europe/Lisbon."), params={"name": name}
        )


class Phase(models.TextChoices):
    OPEN = "open", _("open")
    FIELDWORK_CLOSED = "fieldwork_closed", _("fieldwork closed")
    DEPOSITED = "deposited", _("archive deposited")


class Season(Record):
    site = models.ForeignKey("records.Site", on_delete=models.PROTECT, related_name="seasons")
    code = models.SlugField(_("season code"), max_length=20, unique=True)
    name = models.CharField(_("name of the season"), max_length=120)
    starts_on = models.DateField(_("first day"))
    ends_on = models.DateField(_("last day"))
    zone = models.CharField(_("time zone"), max_length=60, default="UTC", validators=[check_zone])
    coverage_needed_fraction = models.FloatField(
        _("share of a square that photographs must cover"), default=0.98
    )
    disagreement_limit_mm = models.FloatField(_("drawing and photograph may differ by"), default=30)
    tell_human_remains = models.TextField(
        _("whom to tell of human remains"),
        blank=True,
        help_text=_("Name, place in the team and telephone number."),
    )
    tell_ordnance = models.TextField(
        _("whom to tell of suspected ordnance"),
        blank=True,
        help_text=_("Name, place in the team and telephone number."),
    )

    history = kept_history()

    class Meta(Record.Meta):
        ordering = ["-starts_on"]
        constraints = [
            *Record.Meta.constraints,
            models.CheckConstraint(
                name="season_ends_after_start",
                condition=Q(ends_on__gte=F("starts_on")),
                violation_error_message=_("The last day cannot come before the first."),
            ),
            models.CheckConstraint(
                name="season_coverage_is_a_share",
                condition=Q(coverage_needed_fraction__gt=0, coverage_needed_fraction__lte=1),
                violation_error_message=_("The share lies above 0 and at most at 1."),
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def season(self) -> "Season":
        return self

    @property
    def tz(self) -> ZoneInfo:
        return ZoneInfo(self.zone)

    @property
    def coverage_needed_percent(self) -> Decimal:
        """As people say it: 98, or 97.5."""
        return Decimal(str(round(self.coverage_needed_fraction * 100, 1))).normalize()

    def local(self, at: datetime.datetime | None = None) -> datetime.datetime:
        """`at` (or now) in the season's zone."""
        return timezone.localtime(at, self.tz)

    def today(self) -> datetime.date:
        return self.local().date()

    def phase(self) -> Phase:
        """Where the season stands: its latest closing or reopening decides."""
        last = (
            self.events.exclude(kind=SeasonEventKind.ADDENDUM).order_by("-made_at", "-id").first()
        )
        if last is None or last.kind == SeasonEventKind.REOPENED:
            return Phase.OPEN
        return Phase(last.kind)


class SeasonEventKind(models.TextChoices):
    FIELDWORK_CLOSED = "fieldwork_closed", _("fieldwork closed")
    DEPOSITED = "deposited", _("archive deposited")
    REOPENED = "reopened", _("reopened")
    ADDENDUM = "addendum", _("addendum")


class SeasonEvent(Record):
    season = models.ForeignKey(Season, on_delete=models.PROTECT, related_name="events")
    kind = models.CharField(_("what"), max_length=20, choices=SeasonEventKind.choices)
    reason = models.TextField(_("reason"))

    history = kept_history()

    class Meta(Record.Meta):
        ordering = ["made_at"]
        constraints = [
            *Record.Meta.constraints,
            models.CheckConstraint(name="seasonevent_has_reason", condition=~Q(reason="")),
        ]
