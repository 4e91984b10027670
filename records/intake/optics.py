"""What a set-up's camera sees under water, by exact refraction and by the handbooks' rule."""

import math
from dataclasses import dataclass
from functools import cached_property

from django.utils import formats
from django.utils.translation import gettext as _

from records.models import PlacedBy, TowerSetUp
from survey.camera import (
    Camera,
    Footprint,
    Port,
    Water,
    distance_for_width_m,
    distance_for_width_paraxial_m,
    field_of_view_in_air_deg,
    field_of_view_in_water_deg,
    field_of_view_paraxial_deg,
    footprint,
    footprint_paraxial,
)
from survey.depth_of_field import depth_of_field_in_water

BLUR_OF_WIDTH = 0.03 / 36
"""0.03 mm on a sensor 36 mm wide still passes for a point (common practice)."""

WORTH_A_LOOK = 0.05
"""Measured and computed footprints that differ by more are told."""


@dataclass(frozen=True)
class OpticsAsked:
    distance_m: float
    is_dome: bool
    is_sea: bool
    is_own_port: bool
    """Not a what-if of another port than the set-up has."""
    pupil_behind_port_m: float = 0.0
    f_number: float | None = None
    wanted_width_m: float | None = None


@dataclass(frozen=True)
class Row:
    what: str
    exact: str
    paraxial: str


@dataclass(frozen=True)
class Optics:
    set_up: TowerSetUp
    asked: OpticsAsked

    @cached_property
    def camera(self) -> Camera:
        """The sensor's width is its longer side, and lies as the upright picture does."""
        one = self.set_up
        assert one.sensor_width_mm is not None
        assert one.focal_length_mm is not None
        longer_px = max(one.picture_width_px, one.picture_height_px)
        a_pixel_mm = one.sensor_width_mm / longer_px
        return Camera(
            focal_length_mm=one.focal_length_mm,
            sensor_width_mm=a_pixel_mm * one.picture_width_px,
            sensor_height_mm=a_pixel_mm * one.picture_height_px,
            picture_width_px=one.picture_width_px,
            picture_height_px=one.picture_height_px,
            port=Port.DOME if self.asked.is_dome else Port.FLAT,
            water=Water.SEA if self.asked.is_sea else Water.FRESH,
            pupil_behind_port_m=self.asked.pupil_behind_port_m,
        )

    @cached_property
    def exact(self) -> Footprint:
        return footprint(self.camera, self.asked.distance_m)

    @cached_property
    def paraxial(self) -> Footprint:
        return footprint_paraxial(self.camera, self.asked.distance_m)

    @property
    def sentence(self) -> str:
        exact, rule = self.exact, self.paraxial
        told = _("At %(distance)s m a picture covers %(size)s.") % {
            "distance": _number(self.asked.distance_m),
            "size": _size(exact.width_m, exact.height_m),
        }
        if self.asked.is_dome:
            return told
        return _("%(told)s The handbooks' rule promises %(percent)s %% more width.") % {
            "told": told,
            "percent": _number(100 * (rule.width_m / exact.width_m - 1), 1),
        }

    @property
    def rows(self) -> list[Row]:
        return [*self._angles(), *self._sizes(), *self._distance()]

    @property
    def measured(self) -> str:
        """The footprint as it was typed or marked, and whether optics can explain it."""
        width_m = self.set_up.footprint_x_m
        words = self._noted % {"size": _size(width_m, self.set_up.footprint_y_m)}
        if not self.asked.is_own_port:
            return words
        off = width_m / footprint(self.camera, self.set_up.height_m).width_m - 1
        if abs(off) <= WORTH_A_LOOK:
            return words
        told = _(
            "%(measured)s That is %(percent)s %% %(more)s than this camera can see from "
            "%(height)s m. Check height, focal length, sensor and port; what is measured counts."
        )
        return told % {
            "measured": words,
            "percent": _number(100 * abs(off), 0),
            "more": _("more") if off > 0 else _("less"),
            "height": _number(self.set_up.height_m),
        }

    @property
    def _noted(self) -> str:
        if self.set_up.placement.method == PlacedBy.FOOTPRINT:
            return _("Footprint as typed, not yet marked on the base: %(size)s.")
        return _("Measured on the base: %(size)s.")

    @property
    def sharp(self) -> str:
        """Depth of field, in one sentence; empty where no f-number is given."""
        asked = self.asked
        if asked.f_number is None:
            return ""
        if asked.is_dome and not asked.pupil_behind_port_m:
            return _("For sharpness behind a dome give its radius.")
        blur_mm = BLUR_OF_WIDTH * max(self.camera.sensor_width_mm, self.camera.sensor_height_mm)
        told = depth_of_field_in_water(self.camera, asked.f_number, blur_mm, asked.distance_m)
        values = {"near": _number(told.near_m), "blur": _number(blur_mm, 3)}
        if math.isinf(told.far_m):
            return _("Sharp from %(near)s m on, by a blur of %(blur)s mm on the sensor.") % values
        values["far"] = _number(told.far_m)
        return (
            _("Sharp from %(near)s to %(far)s m, by a blur of %(blur)s mm on the sensor.") % values
        )

    def _angles(self) -> list[Row]:
        camera = self.camera
        in_air = field_of_view_in_air_deg(camera.sensor_width_mm, camera.focal_length_mm)
        in_water = field_of_view_in_water_deg(in_air, camera.water, camera.port)
        rule = in_water
        if not self.asked.is_dome:
            rule = field_of_view_paraxial_deg(
                camera.sensor_width_mm, camera.focal_length_mm, camera.water
            )
        return [
            Row(_("Angle in air"), f"{_number(in_air, 1)}°", f"{_number(in_air, 1)}°"),
            Row(_("Angle in water"), f"{_number(in_water, 1)}°", f"{_number(rule, 1)}°"),
        ]

    def _sizes(self) -> list[Row]:
        exact, rule = self.exact, self.paraxial
        return [
            Row(
                _("A picture"),
                _size(exact.width_m, exact.height_m),
                _size(rule.width_m, rule.height_m),
            ),
            Row(
                _("Between the corners"),
                _size(exact.corner_width_m, exact.corner_height_m),
                _size(rule.corner_width_m, rule.corner_height_m),
            ),
            Row(
                _("Pixel, middle"),
                f"{_number(exact.middle_mm_a_pixel, 3)} mm",
                f"{_number(rule.middle_mm_a_pixel, 3)} mm",
            ),
            Row(
                _("Pixel, edge"),
                f"{_number(exact.edge_mm_a_pixel, 3)} mm",
                f"{_number(rule.edge_mm_a_pixel, 3)} mm",
            ),
        ]

    def _distance(self) -> list[Row]:
        wanted_m, camera = self.asked.wanted_width_m, self.camera
        at_port = camera.pupil_behind_port_m * camera.sensor_width_mm / camera.focal_length_mm
        if wanted_m is None or wanted_m <= at_port:
            return []
        exact_m = distance_for_width_m(camera, wanted_m)
        rule_m = distance_for_width_paraxial_m(camera, wanted_m)
        what = _("For %(width)s m across") % {"width": _number(wanted_m)}
        return [Row(what, f"{_number(exact_m)} m", f"{_number(rule_m)} m")]


def optics_of(set_up: TowerSetUp, asked: OpticsAsked) -> Optics | None:
    """None where focal length or sensor are not known."""
    if not set_up.focal_length_mm or not set_up.sensor_width_mm:
        return None
    return Optics(set_up, asked)


def _number(value: float, decimals: int = 2) -> str:
    return str(formats.number_format(round(value, decimals), decimals))


def _size(x_m: float, y_m: float) -> str:
    return f"{_number(x_m)} × {_number(y_m)} m"
