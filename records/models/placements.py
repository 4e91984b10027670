"""Where pictures lie: lenses, tower set-ups, and placements onto a grid or a tower's base."""

import datetime
import math
from collections.abc import Sequence
from functools import lru_cache
from typing import Any
from uuid import UUID

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from records.models.base import Record, kept_history
from survey import lens as lensing
from survey import placement as placing


class LensFrom(models.TextChoices):
    BOARD = "board", _("pictures of the printed board")
    MARKS = "marks", _("marks on one picture")


class Lens(Record):
    """Immutable: the distortion of upright pictures, as it was found; another one is another row.

    `distortion` names the fields of `survey.lens.Lens`; empty: none is known.
    """

    site = models.ForeignKey("records.Site", on_delete=models.PROTECT, related_name="lenses")
    name = models.CharField(_("lens and port"), max_length=120)
    focal_length_mm = models.FloatField(
        _("focal length"), null=True, blank=True, validators=[MinValueValidator(1)]
    )
    distortion = models.JSONField(default=dict, blank=True)
    found_from = models.CharField(max_length=10, choices=LensFrom.choices, blank=True)
    views = models.PositiveSmallIntegerField(null=True, blank=True)
    rms_px = models.FloatField(null=True, blank=True)
    withheld_rms_px = models.FloatField(null=True, blank=True)
    """Of pictures that had no part in it."""
    reach_fraction = models.FloatField(null=True, blank=True)
    """How far out of the picture's middle it was seen, as a part of the way to the corner."""

    history = kept_history()

    class Meta(Record.Meta):
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name

    @property
    def as_value(self) -> lensing.Lens | None:
        return lensing.Lens(**self.distortion) if self.distortion else None

    @property
    def numbers(self) -> str:
        """For a script: centre, normalising length, k1 and k2."""
        names = ("centre_u_px", "centre_v_px", "norm_px", "k1", "k2")
        return ",".join(repr(self.distortion[name]) for name in names) if self.distortion else ""


@lru_cache(maxsize=256)
def distortion_of(lens_id: UUID) -> lensing.Lens | None:
    """Of a row that never changes: read once a process, however many frames ask."""
    row: Lens = Lens.objects.get(pk=lens_id)
    return row.as_value


class TowerSetUp(Record):
    """A camera as it sits in the photo tower.

    A little change (lens refitted, bracket moved) is a new version of it: another placement,
    which begins at a time. Frames keep the one they were laid with.
    """

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
    base_x_m = models.FloatField(_("base along x"), null=True, blank=True)
    base_y_m = models.FloatField(_("base along y"), null=True, blank=True)
    base_marker_mm = models.FloatField(
        _("side of the black of its base markers"),
        null=True,
        blank=True,
        validators=[MinValueValidator(10)],
    )
    """Empty: its base bears no printed markers."""

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

    def versions(self) -> list["Placement"]:
        """The picture onto the tower's base: those that stand, as they begin, then as made."""
        standing = self.placements.filter(voided_at=None)
        return list(standing.order_by(F("valid_from").asc(nulls_first=True), "made_at"))

    @property
    def placement(self) -> "Placement":
        """The version in force by now."""
        return self.versions()[-1]


def version_at(versions: Sequence["Placement"], when: datetime.datetime | None) -> "Placement":
    """Of `TowerSetUp.versions`: the one in force at a time; without a time, by now."""
    if when is None:
        return versions[-1]
    begun = [one for one in versions if one.valid_from is None or one.valid_from <= when]
    return begun[-1] if begun else versions[0]


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
    valid_from = models.DateTimeField(null=True)
    """Of a set-up's version: when it begins; empty: with the set-up's first use."""

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
            models.CheckConstraint(
                name="placement_begins_only_on_a_base",
                condition=Q(valid_from=None) | Q(set_up__isnull=False),
            ),
        ]

    @property
    def site(self) -> Any:
        return self.grid.site if self.grid else self.set_up.site  # type: ignore[union-attr]

    @property
    def as_value(self) -> placing.Placement:
        lens_id = self.lens_id
        return placing.Placement(self.h, None if lens_id is None else distortion_of(lens_id))

    @property
    def mm_a_pixel(self) -> float:
        """In the picture's middle."""
        middle = (self.width_px - 1) / 2, (self.height_px - 1) / 2
        return 1000 * float(placing.metres_a_pixel(self.as_value, middle))

    @property
    def mm_a_pixel_range(self) -> tuple[float, float]:
        """The finest and the coarsest of its corners: they differ where it was taken aslant."""
        corners = placing.picture_outline(self.width_px, self.height_px)
        each = placing.metres_a_pixel(self.as_value, corners)
        return 1000 * float(each.min()), 1000 * float(each.max())

    @property
    def sigma_px(self) -> float | None:
        """σ̂ of one marked coordinate, px: √(vᵀv/(2n − 8)), from rms = √(vᵀv/n)."""
        if not self.degrees_of_freedom or self.rms_px is None:
            return None
        marks = (self.degrees_of_freedom + 8) / 2
        return self.rms_px * math.sqrt(marks / self.degrees_of_freedom)


class BoardPicture(Record):
    """A picture of the printed board, taken with a set-up; `lens`: the one that it had part in."""

    set_up = models.ForeignKey(TowerSetUp, on_delete=models.PROTECT, related_name="board_pictures")
    picture = models.ForeignKey(
        "records.Picture", on_delete=models.PROTECT, related_name="as_board"
    )
    lens = models.ForeignKey(
        Lens, on_delete=models.PROTECT, null=True, blank=True, related_name="seen_on"
    )

    history = kept_history()

    class Meta(Record.Meta):
        ordering = ["made_at"]


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

    def residual(self, placement: placing.Placement) -> tuple[float, float]:
        """How far the point lies from where the placement puts it: px in the picture, mm there."""
        u, v = placing.to_picture(placement, [self.x_m, self.y_m])
        x_m, y_m = placing.to_plane(placement, [self.u_px, self.v_px])
        off_px = math.hypot(u - self.u_px, v - self.v_px)
        return off_px, 1000 * math.hypot(x_m - self.x_m, y_m - self.y_m)
