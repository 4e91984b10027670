"""Comparisons of a drawn square with a photograph of it, by features picked on both."""

from typing import Any

from django.db import models
from django.utils.functional import cached_property
from django.utils.translation import gettext_lazy as _

from records.models.base import Record, kept_history
from survey.agreement import Agreement, BestFit, agreement_of, causes, judged
from survey.errors import Unfit
from survey.told import Told


class Comparison(Record):
    """What somebody picked, never changed: another one is made. It holds for the placements that
    drawing and photograph had then."""

    drawn_square = models.ForeignKey(
        "records.DrawnSquare", on_delete=models.PROTECT, related_name="comparisons"
    )
    frame = models.ForeignKey("records.Frame", on_delete=models.PROTECT, related_name="comparisons")
    drawing_placement = models.ForeignKey(
        "records.Placement", on_delete=models.PROTECT, related_name="+"
    )
    photo_placement = models.ForeignKey(
        "records.Placement", on_delete=models.PROTECT, related_name="+"
    )
    points_m = models.JSONField(_("features"))
    """A row a feature: x, y on the grid by the drawing, then by the photograph, m."""
    rms_m = models.FloatField(editable=False)
    """Of `agreement`, kept so that squares can be found by it."""
    can_judge = models.BooleanField(editable=False)
    """Of `agreement`, kept likewise: enough features, not all at one place."""

    history = kept_history()

    class Meta(Record.Meta):
        ordering = ["made_at"]

    @property
    def season(self) -> Any:
        return self.drawn_square.drawing.season

    @property
    def is_of_earlier_placement(self) -> bool:
        """Drawing or photograph was placed anew since; what was found holds no more."""
        return (
            self.drawing_placement_id != self.drawn_square.placement_id
            or self.photo_placement_id != self.frame.placement_id
        )

    @property
    def rms_mm(self) -> int:
        return round(self.rms_m * 1000)

    @cached_property
    def agreement(self) -> Agreement:
        found = agreement_of([p[:2] for p in self.points_m], [p[2:] for p in self.points_m])
        if isinstance(found, Unfit):  # the verb lets none in
            raise ValueError(f"comparison {self.pk!r} has no features")
        return found

    @property
    def best(self) -> BestFit | None:
        """None where the features are too few or at one place; `why_no_best` says so."""
        best = self.agreement.best
        return None if isinstance(best, Unfit) else best

    @property
    def why_no_best(self) -> Unfit | None:
        best = self.agreement.best
        return best if isinstance(best, Unfit) else None

    @property
    def causes(self) -> list[Told]:
        return causes(self.best) if self.best else []

    def judged(self, limit_mm: float) -> Told:
        return judged(self.agreement, limit_mm / 1000.0)
