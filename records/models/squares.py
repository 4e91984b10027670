"""Squares, the stages of a season, and what is wanted where."""

from collections.abc import Iterable
from math import floor
from typing import Any, Self

from django.db import models
from django.db.models import Exists, OuterRef, Q
from django.utils.translation import gettext_lazy as _

from records.models.base import Record, RecordQuerySet, kept_history
from records.models.grids import Grid
from survey import grid as survey_grid


class SquareQuerySet(RecordQuerySet):
    def labelled(self) -> Self:
        """With all that `label` needs, for lists."""
        others = Grid.objects.filter(voided_at=None, site=OuterRef("grid__site"))
        among = Exists(others.exclude(pk=OuterRef("grid")))
        return self.select_related("grid").annotate(among_grids=among)

    def under(self, grid: Grid, outlines_m: Iterable[Iterable[tuple[float, float]]]) -> Self:
        """Standing squares in the upright box round outlines on the grid, m."""
        corners = [corner for outline in outlines_m for corner in outline]
        xs, ys = ([at / grid.side_m for at in axis] for axis in zip(*corners, strict=True))
        return self.standing().filter(
            grid=grid,
            column__gte=floor(min(xs)),
            column__lt=max(xs),
            row__gte=floor(min(ys)),
            row__lt=max(ys),
        )

    def in_box(self, grid: Grid, box: tuple[float, float, float, float]) -> Self:
        """Those under a box of x_min, y_min, x_max, y_max on the grid, m."""
        return self.under(grid, [[box[:2], box[2:]]])


class Square(Record):
    grid = models.ForeignKey(Grid, on_delete=models.PROTECT, related_name="squares")
    column = models.IntegerField(_("column"))
    row = models.IntegerField(_("row"))

    objects = SquareQuerySet.as_manager()  # type: ignore[misc]
    history = kept_history()

    class Meta(Record.Meta):
        ordering = ["column", "row"]
        constraints = [
            *Record.Meta.constraints,
            models.UniqueConstraint(fields=["grid", "column", "row"], name="square_once_in_grid"),
        ]

    def __str__(self) -> str:
        return self.label

    @property
    def site(self) -> Any:
        return self.grid.site

    @property
    def label(self) -> str:
        """`K7`, or `bow K7` where the site has several grids. Lists ask `labelled()` first."""
        among = getattr(self, "among_grids", None)
        among = self.grid.is_one_of_several if among is None else among
        return self.grid.label_of(self.column, self.row, with_code=among)

    @property
    def place(self) -> str:
        """The label without its grid's code, as the address of the square's page has it."""
        return self.grid.label_of(self.column, self.row)

    def point_at(self, offset_x_m: float, offset_y_m: float) -> tuple[float, float]:
        """Grid x, y at offsets from the square's corner nearest −x −y; m."""
        return survey_grid.point_from_offsets(
            self.grid.frame, self.column, self.row, offset_x_m, offset_y_m
        )

    def offsets_of(self, x_m: float, y_m: float) -> tuple[float, float]:
        """Offsets of a grid point from the square's corner nearest −x −y; m."""
        return survey_grid.offsets_in_square(self.grid.frame, self.column, self.row, x_m, y_m)


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
