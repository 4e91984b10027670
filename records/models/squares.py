"""Grids, their squares, the stages of a season, and what is wanted where."""

from typing import Any

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from records.models.base import Record, kept_history


class LabelStyle(models.TextChoices):
    LETTERS = "letters", _("letters and number, like K7")
    CORNER = "corner", _("south-west corner in metres, like 104/212")


class Grid(Record):
    """A plane of squares on the site; frozen once evidence exists on it."""

    site = models.ForeignKey("records.Site", on_delete=models.PROTECT, related_name="grids")
    code = models.SlugField(_("short code"), max_length=12)
    name = models.CharField(_("name of the grid"), max_length=80)
    origin_e_m = models.FloatField(_("origin peg E"), default=0)
    origin_n_m = models.FloatField(_("origin peg N"), default=0)
    origin_z_m = models.FloatField(_("origin peg Z, up"), default=0)
    bearing_deg = models.FloatField(_("bearing of the rows, from site north"), default=0)
    slope_deg = models.FloatField(
        _("slope"),
        default=0,
        help_text=_("0 lies flat (a plan), 90 stands upright (an elevation)."),
    )
    side_m = models.FloatField(
        _("side of a square"), default=1, validators=[MinValueValidator(0.1)]
    )
    label_style = models.CharField(
        _("labels"), max_length=8, choices=LabelStyle.choices, default=LabelStyle.LETTERS
    )
    first_column = models.CharField(_("label of column 0"), max_length=8, default="A")
    first_row = models.CharField(_("label of row 0"), max_length=8, default="1")
    skip_i_and_o = models.BooleanField(_("skip the letters I and O"), default=False)

    history = kept_history()

    class Meta(Record.Meta):
        ordering = ["code"]
        constraints = [
            *Record.Meta.constraints,
            models.UniqueConstraint(
                fields=["site", "code"],
                name="grid_code_once_in_site",
                violation_error_message=_("Another grid of this site has this code."),
            ),
            models.CheckConstraint(
                name="grid_slope_in_range",
                condition=Q(slope_deg__gt=-90, slope_deg__lte=90),
                violation_error_message=_("A slope lies above −90° and at most at 90°."),
            ),
            models.CheckConstraint(name="grid_side_positive", condition=Q(side_m__gt=0)),
        ]

    def __str__(self) -> str:
        return self.name


class Square(Record):
    grid = models.ForeignKey(Grid, on_delete=models.PROTECT, related_name="squares")
    column = models.IntegerField(_("column"))
    row = models.IntegerField(_("row"))

    history = kept_history()

    class Meta(Record.Meta):
        ordering = ["column", "row"]
        constraints = [
            *Record.Meta.constraints,
            models.UniqueConstraint(fields=["grid", "column", "row"], name="square_once_in_grid"),
        ]

    @property
    def site(self) -> Any:
        return self.grid.site


class Stage(Record):
    """A surface of the season: once sand moves, a square is a new surface."""

    season = models.ForeignKey("records.Season", on_delete=models.PROTECT, related_name="stages")
    order = models.PositiveSmallIntegerField(_("order in the season"))
    name = models.CharField(_("name of the stage"), max_length=60)

    history = kept_history()

    class Meta(Record.Meta):
        ordering = ["order"]
        constraints = [
            *Record.Meta.constraints,
            models.UniqueConstraint(fields=["season", "order"], name="stage_order_once_in_season"),
            models.UniqueConstraint(
                fields=["season", "name"],
                name="stage_name_once_in_season",
                violation_error_message=_("The season already has a stage of this name."),
            ),
        ]

    def __str__(self) -> str:
        return self.name


class SquareGoal(Record):
    """What is wanted of a square in a stage; its being there opens the stage for the square."""

    stage = models.ForeignKey(Stage, on_delete=models.PROTECT, related_name="goals")
    square = models.ForeignKey(Square, on_delete=models.PROTECT, related_name="goals")
    drawing_wanted = models.BooleanField(_("drawing wanted"), default=True)
    photographs_wanted = models.BooleanField(_("photographs wanted"), default=True)

    history = kept_history()

    class Meta(Record.Meta):
        constraints = [
            *Record.Meta.constraints,
            models.UniqueConstraint(fields=["stage", "square"], name="squaregoal_once_in_stage"),
        ]

    @property
    def season(self) -> Any:
        return self.stage.season


class Method(models.TextChoices):
    DRAWING = "drawing", _("drawing")
    PHOTOGRAPHS = "photographs", _("photographs")


class ExceptionKind(models.TextChoices):
    NOTHING_VISIBLE = "nothing_visible", _("nothing visible")
    NOT_REACHED = "not_reached", _("could not be reached")
    UNDER_OBJECT = "under_object", _("under an object")


class SquareException(Record):
    """Accepted by the lead: this square will not be recorded by this method, and why."""

    goal = models.ForeignKey(SquareGoal, on_delete=models.PROTECT, related_name="exceptions")
    method = models.CharField(_("method"), max_length=12, choices=Method.choices)
    kind = models.CharField(_("why not"), max_length=16, choices=ExceptionKind.choices)
    reason = models.TextField(_("reason"))

    history = kept_history()

    class Meta(Record.Meta):
        constraints = [
            *Record.Meta.constraints,
            models.UniqueConstraint(
                fields=["goal", "method"],
                condition=Q(voided_at=None),
                name="squareexception_one_standing_a_method",
                violation_error_message=_("This square already has an exception for this method."),
            ),
            models.CheckConstraint(
                name="squareexception_has_reason",
                condition=~Q(reason=""),
                violation_error_message=_("An exception needs its reason in words."),
            ),
        ]

    @property
    def season(self) -> Any:
        return self.goal.stage.season
