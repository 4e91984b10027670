"""Where pictures lie: lenses, tower set-ups, and placements onto a grid or a tower's base."""

from typing import Any

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from records.models.base import Record, kept_history


class Lens(Record):
    site = models.ForeignKey("records.Site", on_delete=models.PROTECT, related_name="lenses")
    name = models.CharField(_("lens and port"), max_length=120)
    focal_length_mm = models.FloatField(_("focal length"), validators=[MinValueValidator(1)])
    distortion = models.JSONField(default=dict, blank=True)

    history = kept_history()

    class Meta(Record.Meta):
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class TowerSetUp(Record):
    """A camera as it sits in the photo tower; a changed one is a new set-up."""

    site = models.ForeignKey("records.Site", on_delete=models.PROTECT, related_name="set_ups")
    name = models.CharField(_("name of the set-up"), max_length=80)
    camera = models.CharField(_("camera"), max_length=120)
    lens = models.ForeignKey(
        Lens, on_delete=models.PROTECT, null=True, blank=True, related_name="set_ups"
    )
    sensor_width_mm = models.FloatField(_("sensor width"), null=True, blank=True)
    focal_length_mm = models.FloatField(_("focal length"), null=True, blank=True)
    port = models.CharField(_("port"), max_length=80, blank=True)
    height_m = models.FloatField(_("height above the base"), validators=[MinValueValidator(0.1)])
    orientation = models.PositiveSmallIntegerField(
        _("how its pictures are turned"),
        default=1,
        validators=[MinValueValidator(1), MaxValueValidator(8)],
    )
    picture_width_px = models.PositiveIntegerField(_("picture width, upright"))
    picture_height_px = models.PositiveIntegerField(_("picture height, upright"))
    footprint_x_m = models.FloatField(_("footprint along x"), validators=[MinValueValidator(0.05)])
    footprint_y_m = models.FloatField(_("footprint along y"), validators=[MinValueValidator(0.05)])

    history = kept_history()

    class Meta(Record.Meta):
        ordering = ["-made_at"]
        constraints = [
            *Record.Meta.constraints,
            models.CheckConstraint(
                name="towersetup_has_a_footprint",
                condition=Q(footprint_x_m__gt=0, footprint_y_m__gt=0, height_m__gt=0),
                violation_error_message=_("Footprint and height are above 0."),
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def placement(self) -> "Placement":
        """The picture onto the tower's base, as it stands now."""
        latest: Placement = self.placements.filter(voided_at=None).latest("made_at")
        return latest


class PlacedBy(models.TextChoices):
    FOOTPRINT = "footprint", _("typed footprint")
    MARKS = "marks", _("marks")
    STATION = "station", _("station of a run")


class Placement(Record):
    """Immutable: h maps undistorted pixels of the upright picture to metres, row by row.

    Onto a grid (a picture that lies there) or onto a set-up's base. A new row replaces it.
    """

    picture = models.ForeignKey(
        "records.Picture", on_delete=models.PROTECT, null=True, related_name="placements"
    )
    grid = models.ForeignKey(
        "records.Grid", on_delete=models.PROTECT, null=True, related_name="placements"
    )
    set_up = models.ForeignKey(
        TowerSetUp, on_delete=models.PROTECT, null=True, related_name="placements"
    )
    lens = models.ForeignKey(Lens, on_delete=models.PROTECT, null=True, related_name="placements")
    h = models.JSONField(editable=False)
    width_px = models.PositiveIntegerField(editable=False)
    height_px = models.PositiveIntegerField(editable=False)
    method = models.CharField(max_length=10, choices=PlacedBy.choices)
    degrees_of_freedom = models.PositiveSmallIntegerField(null=True)
    rms_px = models.FloatField(null=True)
    rms_mm = models.FloatField(null=True)

    history = kept_history()

    class Meta(Record.Meta):
        ordering = ["made_at"]
        constraints = [
            *Record.Meta.constraints,
            models.CheckConstraint(
                name="placement_onto_a_grid_or_a_base",
                condition=Q(grid__isnull=False, set_up=None, picture__isnull=False)
                | Q(grid=None, set_up__isnull=False),
            ),
        ]

    @property
    def site(self) -> Any:
        return self.grid.site if self.grid else self.set_up.site  # type: ignore[union-attr]


class Mark(Record):
    """A point seen in the picture (u, v) whose place (x, y) is known."""

    placement = models.ForeignKey(Placement, on_delete=models.PROTECT, related_name="marks")
    u_px = models.FloatField()
    v_px = models.FloatField()
    x_m = models.FloatField()
    y_m = models.FloatField()
    label = models.CharField(max_length=40, blank=True)

    history = kept_history()

    class Meta(Record.Meta):
        ordering = ["made_at"]
