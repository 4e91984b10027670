"""Features traced on a grid, over a drawing or photographs, and the site's list of their kinds."""

from dataclasses import dataclass
from functools import cached_property
from typing import Any

from django.db import models
from django.utils.translation import gettext_lazy as _

from records.models.base import Record, kept_history
from records.models.site import Site
from survey import outlines
from survey.outline_looks import LOOKS, Look, look_of

MOST_KINDS = len(LOOKS)
"""More could not be told apart without colour."""


@dataclass(frozen=True)
class OutlineKind:
    """One of the site's kinds: its letters, its name, the number of its line and filling."""

    letters: str
    name: str
    number: int

    @property
    def look(self) -> Look:
        return look_of(self.number)


def kinds_of(site: Site) -> list[OutlineKind]:
    return [OutlineKind(one["letters"], one["name"], one["look"]) for one in site.outline_kinds]


class OutlineShape(models.TextChoices):
    AREA = "area", _("area")
    LINE = "line", _("line")
    POINT = "point", _("point")


class TracedOver(models.TextChoices):
    DRAWING = "drawing", _("drawings")
    PHOTOGRAPHS = "photographs", _("photographs")


class Outline(Record):
    """A traced feature; it may run across squares. `points_m`: x, y on the grid, m."""

    stage = models.ForeignKey("records.Stage", on_delete=models.PROTECT, related_name="outlines")
    grid = models.ForeignKey("records.Grid", on_delete=models.PROTECT, related_name="outlines")
    kind = models.CharField(_("kind"), max_length=2)
    shape = models.CharField(
        _("traced as"), max_length=5, choices=OutlineShape.choices, default=OutlineShape.AREA
    )
    points_m = models.JSONField(_("points"))
    label = models.CharField(_("label"), max_length=60, blank=True)
    remark = models.TextField(_("remark"), blank=True)
    traced_over = models.CharField(
        _("traced over"), max_length=12, choices=TracedOver.choices, blank=True
    )
    answers = models.JSONField(_("unlikely values, confirmed"), default=dict, blank=True)

    history = kept_history()

    class Meta(Record.Meta):
        ordering = ["made_at", "pk"]

    @property
    def season(self) -> Any:
        return self.stage.season

    @cached_property
    def trace(self) -> outlines.Trace:
        return outlines.Trace(self.shape, self.points_m)

    @cached_property
    def squares_under(self) -> list[tuple[int, int]]:
        """Column and row of those it runs across, whether the grid has them or not."""
        squares = outlines.squares_under(self.grid.frame, self.trace)
        return [(one.column, one.row) for one in squares]

    def plainer(self, tolerance_m: float) -> outlines.Trace:
        """With fewer points, for a small picture of it."""
        return outlines.simplified(self.trace, tolerance_m)


class OutlineSource(Record):
    """A placed picture that lay under the tracing, as it was placed then."""

    outline = models.ForeignKey(Outline, on_delete=models.PROTECT, related_name="sources")
    placement = models.ForeignKey(
        "records.Placement", on_delete=models.PROTECT, related_name="outline_sources"
    )

    history = kept_history()

    class Meta(Record.Meta):
        constraints = [
            *Record.Meta.constraints,
            models.UniqueConstraint(
                fields=["outline", "placement"], name="outlinesource_once_an_outline"
            ),
        ]

    @property
    def season(self) -> Any:
        return self.outline.season
