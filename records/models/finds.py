"""Finds, where they lie, and their pictures."""

from typing import Any

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from records.models.base import Numbered, NumberKind, Record, Searchable, kept_history
from survey import grid as survey_grid


class Whereabouts(models.TextChoices):
    IN_PLACE = "in_place", _("in place")
    LIFTED = "lifted", _("lifted")


class Restriction(models.TextChoices):
    NONE = "none", _("none")
    HUMAN_REMAINS = "human_remains", _("human remains")
    ORDNANCE = "ordnance", _("suspected ordnance")


class Find(Searchable, Numbered):
    searched = ("n", "object_name", "material", "description", "condition")
    """Not the place in words: readers search here too, and places are not theirs to find."""
    number_kind = NumberKind.FIND

    square = models.ForeignKey(
        "records.Square", on_delete=models.PROTECT, null=True, blank=True, related_name="finds"
    )
    stage = models.ForeignKey(
        "records.Stage", on_delete=models.PROTECT, null=True, blank=True, related_name="finds"
    )
    where_in_words = models.CharField(_("where, in words"), max_length=200, blank=True)
    dive = models.ForeignKey(
        "records.Dive", on_delete=models.PROTECT, null=True, blank=True, related_name="finds"
    )
    object_name = models.CharField(_("object name"), max_length=80)
    material = models.CharField(_("material"), max_length=80, blank=True)
    description = models.TextField(_("description"), blank=True)
    count = models.PositiveIntegerField(_("count"), default=1, validators=[MinValueValidator(1)])
    length_mm = models.FloatField(_("length"), null=True, blank=True)
    width_mm = models.FloatField(_("width"), null=True, blank=True)
    height_mm = models.FloatField(_("height"), null=True, blank=True)
    weight_g = models.FloatField(_("weight"), null=True, blank=True)
    condition = models.CharField(_("condition"), max_length=120, blank=True)
    whereabouts = models.CharField(
        _("in place or lifted"),
        max_length=8,
        choices=Whereabouts.choices,
        default=Whereabouts.IN_PLACE,
    )
    found_by = models.ForeignKey(
        "records.Diver", on_delete=models.PROTECT, null=True, blank=True, related_name="finds"
    )
    found_on = models.DateField(_("found on"))
    restriction = models.CharField(
        _("restricted because of"),
        max_length=13,
        choices=Restriction.choices,
        default=Restriction.NONE,
    )
    answers = models.JSONField(_("unlikely values, confirmed"), default=dict, blank=True)

    history = kept_history(excluded_fields=["search_text"])

    class Meta(Numbered.Meta):
        constraints = [
            *Numbered.Meta.constraints,
            models.CheckConstraint(
                name="find_on_a_square_or_in_words",
                condition=Q(square__isnull=False) | ~Q(where_in_words=""),
                violation_error_message=_(
                    "A find names its square, or says in words where it lay."
                ),
            ),
        ]

    @property
    def is_restricted(self) -> bool:
        return self.restriction != Restriction.NONE


class FixMethod(models.TextChoices):
    OFFSETS = "offsets", _("offsets from the square's corner")


class Fix(Record):
    """A find's position on its grid, in metres, with its uncertainty; one stands."""

    find = models.ForeignKey(Find, on_delete=models.PROTECT, related_name="fixes")
    grid = models.ForeignKey("records.Grid", on_delete=models.PROTECT, related_name="fixes")
    x_m = models.FloatField()
    y_m = models.FloatField()
    depth_m = models.FloatField(_("depth"), null=True, blank=True)
    sigma_m = models.FloatField(_("uncertainty (σ)"), validators=[MinValueValidator(0.0001)])
    method = models.CharField(max_length=10, choices=FixMethod.choices, default=FixMethod.OFFSETS)
    answers = models.JSONField(_("unlikely values, confirmed"), default=dict, blank=True)

    history = kept_history()

    class Meta(Record.Meta):
        constraints = [
            *Record.Meta.constraints,
            models.UniqueConstraint(
                fields=["find"], condition=Q(voided_at=None), name="fix_one_standing_a_find"
            ),
            models.CheckConstraint(name="fix_has_sigma", condition=Q(sigma_m__gt=0)),
        ]

    @property
    def season(self) -> Any:
        return self.find.season

    @property
    def offsets_m(self) -> tuple[float, float] | None:
        """From the corner nearest −x −y of the find's square, if that is of this grid."""
        square = self.find.square
        if square is None or square.grid_id != self.grid_id:
            return None
        return square.offsets_of(self.x_m, self.y_m)

    @property
    def on_site_m(self) -> tuple[float, float]:
        """Site E, N of the fix on its grid's plane: for those who see positions."""
        east, north, _up = survey_grid.to_site(self.grid.frame, [self.x_m, self.y_m])
        return float(east), float(north)


class FindPicture(Record):
    find = models.ForeignKey(Find, on_delete=models.PROTECT, related_name="pictures")
    picture = models.ForeignKey("records.Picture", on_delete=models.PROTECT, related_name="finds")

    history = kept_history()

    class Meta(Record.Meta):
        constraints = [
            *Record.Meta.constraints,
            models.UniqueConstraint(fields=["find", "picture"], name="findpicture_once"),
        ]

    @property
    def season(self) -> Any:
        return self.find.season
