"""Printed drawing sheets and coded boards, and the scans that come back."""

from typing import Any

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from records.models.base import NumberKind, Record, kept_history
from records.models.drawings import DrawingKind
from survey.print_layout import FLAT_WITHIN_MM, PrintLayout
from survey.print_layout import Paper as PaperSize


class PrintKind(models.TextChoices):
    SHEET = "sheet", _("drawing sheet")
    BOARD = "board", _("coded board")


class Paper(models.TextChoices):
    A4 = "a4", _("A4")
    A3 = "a3", _("A3")


class PrintedSheet(Record):
    """A sheet for certain squares, numbered ahead, or a coded board under film for any.

    Its layout is kept as it was printed, so that what hangs in the shed is read as it is.
    """

    season = models.ForeignKey(
        "records.Season", on_delete=models.PROTECT, related_name="printed_sheets"
    )
    kind = models.CharField(max_length=5, choices=PrintKind.choices, default=PrintKind.SHEET)
    short = models.PositiveIntegerField(unique=True, editable=False)
    """What stands in its corner codes; it follows from the key."""
    printing = models.UUIDField(editable=False, db_index=True)
    """The form it was printed with, and others of the same pile."""
    n = models.PositiveIntegerField(_("number"), null=True, editable=False)
    block = models.ForeignKey(
        "records.NumberBlock",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="sheets",
    )
    grid = models.ForeignKey(
        "records.Grid",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="printed_sheets",
    )
    stage = models.ForeignKey(
        "records.Stage",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="printed_sheets",
    )
    column = models.IntegerField(default=0)
    row = models.IntegerField(default=0)
    """The lowest left square of the block, of a sheet."""
    columns = models.PositiveSmallIntegerField(_("squares across"), default=1)
    rows = models.PositiveSmallIntegerField(_("squares up"), default=1)
    side_m = models.FloatField(default=1)
    paper = models.CharField(_("paper"), max_length=2, choices=Paper.choices, default=Paper.A4)
    scale = models.PositiveSmallIntegerField(_("scale 1 to"), default=10)
    line_m = models.FloatField(default=0.2)
    layout_version = models.PositiveSmallIntegerField(editable=False)

    history = kept_history()

    class Meta(Record.Meta):
        ordering = ["-made_at", "n"]
        constraints = [
            *Record.Meta.constraints,
            models.UniqueConstraint(
                fields=["season", "n"],
                name="printedsheet_number_once_in_season",
                violation_error_message=_("A sheet with this number is printed already."),
            ),
            models.CheckConstraint(
                name="printedsheet_sheet_has_squares_board_has_none",
                condition=Q(kind="board", n=None, block=None, grid=None, stage=None)
                | Q(
                    kind="sheet",
                    n__isnull=False,
                    block__isnull=False,
                    grid__isnull=False,
                    stage__isnull=False,
                ),
            ),
        ]

    def __str__(self) -> str:
        if self.n is None:
            return _now("coded board %(short)s") % {"short": self.mark}
        return f"{self.season.code}-{NumberKind.DRAWING.value}-{self.n}"

    @property
    def is_board(self) -> bool:
        return self.kind == PrintKind.BOARD

    @property
    def mark(self) -> str:
        """Its number in the codes, as it is printed for people."""
        return f"{self.short:07d}"

    @property
    def layout(self) -> PrintLayout:
        return PrintLayout(
            PaperSize(self.paper), self.scale, self.columns, self.rows, self.side_m, self.line_m
        )

    @property
    def drawing_kind(self) -> str:
        upright = self.grid is not None and self.grid.is_upright
        return DrawingKind.ELEVATION if upright else DrawingKind.PLAN


class SheetSquare(Record):
    """A square that a sheet was printed for."""

    sheet = models.ForeignKey(PrintedSheet, on_delete=models.PROTECT, related_name="squares")
    square = models.ForeignKey("records.Square", on_delete=models.PROTECT, related_name="sheets")

    history = kept_history()

    class Meta(Record.Meta):
        ordering = ["square__row", "square__column"]
        constraints = [
            *Record.Meta.constraints,
            models.UniqueConstraint(fields=["sheet", "square"], name="sheetsquare_once_in_sheet"),
        ]

    @property
    def season(self) -> Any:
        return self.sheet.season


class SheetUnderlay(Record):
    """A photograph that was printed faintly under a sheet, as it lay then; `place` 0 is lowest.

    What is drawn on such a sheet is no witness of its own where it is compared with this one.
    """

    sheet = models.ForeignKey(PrintedSheet, on_delete=models.PROTECT, related_name="underlays")
    placement = models.ForeignKey("records.Placement", on_delete=models.PROTECT, related_name="+")
    place = models.PositiveSmallIntegerField(editable=False)

    history = kept_history()

    class Meta(Record.Meta):
        ordering = ["place"]
        constraints = [
            *Record.Meta.constraints,
            models.UniqueConstraint(
                fields=["sheet", "placement"], name="sheetunderlay_once_in_sheet"
            ),
        ]

    @property
    def season(self) -> Any:
        return self.sheet.season


class ScanState(models.TextChoices):
    WAITING = "waiting", _("waits to be read")
    FILED = "filed", _("filed by itself")
    ON_BOARD = "on_board", _("film on a board: name its square")
    BY_HAND = "by_hand", _("could not be filed by itself")


class Scan(Record):
    """A scan that came in with a pile: read by the worker, filed, or left to a person and why.

    What a person made of it is the drawing that bears its picture.
    """

    season = models.ForeignKey("records.Season", on_delete=models.PROTECT, related_name="scans")
    picture = models.ForeignKey("records.Picture", on_delete=models.PROTECT, related_name="scans")
    state = models.CharField(max_length=8, choices=ScanState.choices, default=ScanState.WAITING)
    words = models.TextField(blank=True)
    """Why it was not filed."""
    sheet = models.ForeignKey(
        PrintedSheet, on_delete=models.PROTECT, null=True, blank=True, related_name="scans"
    )
    corners_px = models.JSONField(null=True, blank=True, editable=False)
    """u, v of the four codes' corners in the upright picture, once they were read; code by code
    as `PrintLayout.code_corners_mm`, px."""
    flatness = models.JSONField(null=True, blank=True, editable=False)
    """How far its printed lines lie from where the codes put them, mm of paper: the fields of
    `survey.flatness.Flatness`; `crossings` and `answered` alone where that could not be said; null
    where nobody looked."""

    history = kept_history()

    class Meta(Record.Meta):
        ordering = ["-made_at"]
        constraints = [
            *Record.Meta.constraints,
            models.UniqueConstraint(fields=["season", "picture"], name="scan_once_a_picture"),
        ]

    @property
    def lines_off_mm(self) -> float | None:
        """The largest departure of its printed lines, mm of paper; None where it is not known."""
        return (self.flatness or {}).get("largest_mm")

    @property
    def is_bent(self) -> bool:
        """Its paper was farther from flat than a scan's corners may be from the truth."""
        return self.lines_off_mm is not None and self.lines_off_mm > FLAT_WITHIN_MM
