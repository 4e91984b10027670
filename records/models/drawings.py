"""Drawings, the squares they show, and the checks that make them count."""

from typing import Any

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from records.models.base import Numbered, NumberKind, Record, Searchable, kept_history
from survey import grid
from survey.placement import to_picture


class DrawingKind(models.TextChoices):
    PLAN = "plan", _("plan")
    SECTION = "section", _("section")
    ELEVATION = "elevation", _("elevation")
    DETAIL = "detail", _("detail")
    SKETCH = "sketch", _("sketch")


class FrameLies(models.TextChoices):
    LEVEL = "level", _("level")
    ON_THE_SLOPE = "slope", _("on the slope")


class Drawing(Searchable, Numbered):
    searched = ("n", "squares_on_sheet", "note", "picture.original_name")
    number_kind = NumberKind.DRAWING

    picture = models.ForeignKey(
        "records.Picture", on_delete=models.PROTECT, related_name="drawings"
    )
    """A sheet is one standing drawing; a voided one lets it be brought in again."""
    dive = models.ForeignKey(
        "records.Dive", on_delete=models.PROTECT, null=True, blank=True, related_name="drawings"
    )
    drawn_by = models.ForeignKey(
        "records.Diver", on_delete=models.PROTECT, null=True, blank=True, related_name="drawings"
    )
    kind = models.CharField(
        _("kind"), max_length=10, choices=DrawingKind.choices, default=DrawingKind.PLAN
    )
    scale = models.PositiveSmallIntegerField(
        _("scale 1 to"), default=10, validators=[MinValueValidator(1)]
    )
    frame_lies = models.CharField(
        _("frame lay"), max_length=5, choices=FrameLies.choices, default=FrameLies.LEVEL, blank=True
    )
    """Empty as long as nobody has said: a sheet that filed itself was read by its codes only."""
    inked_from = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="inked"
    )
    squares_on_sheet = models.CharField(_("squares on the sheet"), max_length=200, blank=True)
    """Their labels as they were named when the sheet came in, marked by now or not."""
    note = models.TextField(_("note"), blank=True)

    history = kept_history(excluded_fields=["search_text"])

    class Meta(Numbered.Meta):
        constraints = [
            *Numbered.Meta.constraints,
            models.UniqueConstraint(
                fields=["picture"],
                condition=Q(voided_at=None),
                name="drawing_once_a_picture",
                violation_error_message=_("This sheet is in the record already."),
            ),
        ]

    def get_frame_lies_display(self) -> str:  # type: ignore[no-redef]
        """In place of Django's: on a wall a frame that does not follow the slope stands upright."""
        is_on_wall = self.kind == DrawingKind.ELEVATION
        if is_on_wall and self.frame_lies == FrameLies.LEVEL:
            return gettext("upright")
        return str(FrameLies(self.frame_lies).label) if self.frame_lies else ""


class Extent(models.TextChoices):
    WHOLE = "whole", _("the whole square")
    PART = "part", _("a part of it")


class DrawnSquare(Record):
    """One square of a drawing; the frame is laid anew for each, so each has its placement."""

    drawing = models.ForeignKey(Drawing, on_delete=models.PROTECT, related_name="squares")
    square = models.ForeignKey("records.Square", on_delete=models.PROTECT, related_name="drawn")
    stage = models.ForeignKey("records.Stage", on_delete=models.PROTECT, related_name="drawn")
    extent = models.CharField(_("drawn"), max_length=5, choices=Extent.choices, blank=True)
    """Empty as long as nobody has said; no check accepts it so."""
    placement = models.ForeignKey(
        "records.Placement", on_delete=models.PROTECT, related_name="drawn_squares"
    )

    history = kept_history()

    class Meta(Record.Meta):
        constraints = [
            *Record.Meta.constraints,
            models.UniqueConstraint(
                fields=["drawing", "square", "stage"],
                condition=Q(voided_at=None),
                name="drawnsquare_once_in_drawing",
                violation_error_message=_("This drawing already has that square."),
            ),
        ]

    @property
    def season(self) -> Any:
        return self.drawing.season

    @property
    def extent_words(self) -> str:
        return self.get_extent_display() or gettext("nobody has said how much of it is drawn")

    @property
    def corners_px(self) -> list[tuple[float, float]]:
        """Where the corners of its square lie in the upright picture, in the grid's order, px."""
        corners = grid.corners(self.square.grid.frame, self.square.column, self.square.row)
        return [(u, v) for u, v in to_picture(self.placement.as_value, corners).tolist()]


class Verdict(models.TextChoices):
    ACCEPTED = "accepted", _("accepted")
    REDO = "redo", _("sent back")


class RedoReason(models.TextChoices):
    NO_SQUARE_NUMBER = "no_square_number", _("no square number")
    NO_CORNER_MARK = "no_corner_mark", _("no corner mark")
    EDGE = "edge", _("edge does not meet its neighbour")
    NO_LEVELS = "no_levels", _("no levels")
    OTHER = "other", _("another reason")


class DrawingCheck(Record):
    """What the lead found; the latest one counts, none is ever changed."""

    drawn_square = models.ForeignKey(DrawnSquare, on_delete=models.PROTECT, related_name="checks")
    verdict = models.CharField(max_length=8, choices=Verdict.choices)
    why = models.CharField(max_length=16, choices=RedoReason.choices, blank=True)
    words = models.TextField(_("in words"), blank=True)

    history = kept_history()

    class Meta(Record.Meta):
        ordering = ["made_at"]
        constraints = [
            *Record.Meta.constraints,
            models.CheckConstraint(
                name="drawingcheck_redo_says_why",
                condition=Q(verdict="accepted", why="")
                | (Q(verdict="redo") & ~Q(why="") & (~Q(why="other") | ~Q(words=""))),
                violation_error_message=_("Say why the drawing goes back."),
            ),
        ]

    @property
    def season(self) -> Any:
        return self.drawn_square.drawing.season
