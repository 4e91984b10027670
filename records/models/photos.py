"""Photographs of the season, cards, and frames on their stations."""

import datetime
from typing import Any

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from records.models.base import Numbered, NumberKind, Record, Searchable, kept_history
from records.models.runs import PhotoRun, RunRow


class PhotoKind(models.TextChoices):
    FRAME = "frame", _("tower frame")
    RECORD_SHOT = "record_shot", _("record shot")
    DETAIL = "detail", _("detail")
    WORKING_SHOT = "working_shot", _("working shot")
    SLATE = "slate", _("slate")
    FIND = "find", _("find")
    OTHER = "other", _("other")


class Photograph(Searchable, Numbered):
    searched = ("n", "subject", "facing", "scale_words", "picture.original_name")
    number_kind = NumberKind.PHOTO

    picture = models.OneToOneField(
        "records.Picture", on_delete=models.PROTECT, related_name="photograph"
    )
    dive = models.ForeignKey(
        "records.Dive", on_delete=models.PROTECT, null=True, blank=True, related_name="photographs"
    )
    kind = models.CharField(_("kind"), max_length=12, choices=PhotoKind.choices)
    stage = models.ForeignKey(
        "records.Stage", on_delete=models.PROTECT, null=True, blank=True, related_name="photographs"
    )
    square = models.ForeignKey(
        "records.Square",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="photographs",
    )
    subject = models.CharField(_("subject"), max_length=200, blank=True)
    facing = models.CharField(_("facing"), max_length=40, blank=True)
    scale_words = models.CharField(_("scale in the picture"), max_length=60, blank=True)
    photographer = models.ForeignKey(
        "records.Diver", on_delete=models.PROTECT, null=True, blank=True, related_name="photographs"
    )

    history = kept_history(excluded_fields=["search_text"])

    class Meta(Numbered.Meta):
        pass


class CardState(models.TextChoices):
    ARRIVING = "arriving", _("files are arriving")
    ACCEPTED = "accepted", _("accepted")


class Card(Record):
    """One card's content for one run and dive; a run may take several."""

    run = models.ForeignKey(PhotoRun, on_delete=models.PROTECT, related_name="cards")
    dive = models.ForeignKey("records.Dive", on_delete=models.PROTECT, related_name="cards")
    photographer = models.ForeignKey(
        "records.Diver", on_delete=models.PROTECT, null=True, blank=True, related_name="cards"
    )
    clock_offset_s = models.FloatField(_("camera clock, seconds fast"), default=0)
    state = models.CharField(
        max_length=10, choices=CardState.choices, default=CardState.ARRIVING, editable=False
    )
    listing = models.JSONField(null=True, editable=False)
    """The whole folder as it was listed before reading, or None: {path: [bytes, modified in ms,
    and in words why it was not taken in, or nothing]}."""

    history = kept_history(excluded_fields=["listing"])

    class Meta(Record.Meta):
        ordering = ["-made_at"]

    @property
    def clock_offset(self) -> datetime.timedelta:
        """How much the camera's clock was fast."""
        return datetime.timedelta(seconds=self.clock_offset_s)

    @property
    def season(self) -> Any:
        return self.run.season


class CardFileRole(models.TextChoices):
    FRAME = "frame", _("picture")
    RAW = "raw", _("raw file")
    VIDEO = "video", _("video")


class IncomingFrame(Record):
    """A file of a card, safe already, and the station proposed for it before acceptance."""

    card = models.ForeignKey(Card, on_delete=models.PROTECT, related_name="incoming")
    picture = models.ForeignKey(
        "records.Picture", on_delete=models.PROTECT, null=True, related_name="incoming"
    )
    file = models.ForeignKey(
        "records.StoredFile", on_delete=models.PROTECT, related_name="incoming"
    )
    role = models.CharField(max_length=6, choices=CardFileRole.choices, default=CardFileRole.FRAME)
    original_name = models.CharField(max_length=255)
    size_bytes = models.PositiveBigIntegerField()
    modified_ms = models.BigIntegerField(default=0)
    row = models.ForeignKey(RunRow, on_delete=models.PROTECT, null=True, related_name="incoming")
    station = models.PositiveSmallIntegerField(null=True)
    left_out_reason = models.CharField(max_length=200, blank=True)

    history = kept_history()

    class Meta(Record.Meta):
        ordering = ["original_name"]
        constraints = [
            *Record.Meta.constraints,
            models.UniqueConstraint(
                fields=["card", "original_name", "size_bytes", "modified_ms"],
                name="incomingframe_file_once_on_card",
            ),
            models.CheckConstraint(
                name="incomingframe_row_and_station_together",
                condition=Q(row=None, station=None) | Q(row__isnull=False, station__isnull=False),
            ),
        ]

    @property
    def season(self) -> Any:
        return self.card.run.season


class CardStep(Record):
    """One move on the contact sheet, with what stood before, so that it can be undone."""

    card = models.ForeignKey(Card, on_delete=models.PROTECT, related_name="steps")
    words = models.CharField(max_length=200)
    before = models.JSONField()

    history = kept_history()

    class Meta(Record.Meta):
        ordering = ["made_at"]

    @property
    def season(self) -> Any:
        return self.card.run.season


class Frame(Record):
    """What a photograph covers: an accepted tower frame on its station, or, without a card, a
    photograph placed by known points. Its stage is the photograph's, its grid the placement's.
    """

    photograph = models.OneToOneField(Photograph, on_delete=models.PROTECT, related_name="frame")
    card = models.ForeignKey(Card, on_delete=models.PROTECT, null=True, related_name="frames")
    row = models.ForeignKey(RunRow, on_delete=models.PROTECT, null=True, related_name="frames")
    station = models.PositiveSmallIntegerField(null=True)
    foot_x_m = models.FloatField(default=0)
    foot_y_m = models.FloatField(default=0)
    placement = models.ForeignKey(
        "records.Placement", on_delete=models.PROTECT, null=True, related_name="frames"
    )
    sharpness = models.FloatField(null=True)
    exposure = models.FloatField(null=True)
    is_kept = models.BooleanField(default=True)
    left_out_reason = models.CharField(max_length=200, blank=True)
    trusted_reason = models.CharField(max_length=200, blank=True)
    """Why a lead uses it, whatever its pixels say."""

    history = kept_history()

    class Meta(Record.Meta):
        ordering = ["row__order", "station"]
        constraints = [
            *Record.Meta.constraints,
            models.CheckConstraint(
                name="frame_kept_has_a_placement_left_out_a_reason",
                condition=Q(is_kept=True, placement__isnull=False)
                | (Q(is_kept=False) & ~Q(left_out_reason="")),
            ),
            models.CheckConstraint(
                name="frame_without_a_card_has_no_station",
                condition=Q(card__isnull=False) | Q(row=None, station=None),
            ),
        ]

    @property
    def season(self) -> Any:
        return self.photograph.season

    @property
    def stage(self) -> Any:
        return self.photograph.stage

    @property
    def run(self) -> Any:
        """Of a tower frame; what was taken off the tower has none."""
        return self.card.run if self.card else None

    @property
    def taken_at(self) -> datetime.datetime | None:
        """By the camera's clock as it was corrected, else when its dive began."""
        dive = self.photograph.dive
        by_camera: datetime.datetime | None = self.photograph.picture.taken_at
        return by_camera or (dive.left_surface_at if dive else None)


class FrameOnSquare(Record):
    frame = models.ForeignKey(Frame, on_delete=models.PROTECT, related_name="on_squares")
    square = models.ForeignKey("records.Square", on_delete=models.PROTECT, related_name="frames")
    fraction = models.FloatField()

    history = kept_history()

    class Meta(Record.Meta):
        constraints = [
            *Record.Meta.constraints,
            models.UniqueConstraint(fields=["frame", "square"], name="frameonsquare_once"),
        ]


class SquareCoverage(Record):
    """A cache of the union of kept footprints, rewritten with its evidence; `recount` rebuilds."""

    stage = models.ForeignKey("records.Stage", on_delete=models.PROTECT, related_name="coverages")
    square = models.ForeignKey("records.Square", on_delete=models.PROTECT, related_name="coverages")
    fraction = models.FloatField()
    holes = models.JSONField(default=list)

    history = kept_history()

    class Meta(Record.Meta):
        constraints = [
            *Record.Meta.constraints,
            models.UniqueConstraint(fields=["stage", "square"], name="squarecoverage_once"),
            models.CheckConstraint(
                name="squarecoverage_is_a_share", condition=Q(fraction__gte=0, fraction__lte=1)
            ),
        ]
