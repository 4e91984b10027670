"""What a camera behind a port sees under water: angles, footprints, visibility.

Behind a flat port a ray bends once, at the port: sin θ_air = n·sin θ_water, so that angles
shrink, the more the farther from the axis. Handbooks often give the paraxial rule instead, "the
lens is n times longer", which holds near the axis only and promises too wide a footprint; both
are here. A dome whose centre is the lens's entrance pupil lets every ray pass unbent.

Left out everywhere: the thickness of the glass (10 mm of it widen a footprint at 1 m by less
than 1 %), and the distortion of the lens itself: a rectilinear lens is taken. Distances are
counted along the axis from the outer face of the port.
Source: D. Knight, *Optical characteristics of the flat underwater lens port*.
"""

import math
from dataclasses import dataclass
from enum import Enum, StrEnum

from survey.errors import demand_positive, gettext_noop
from survey.told import Told, Weight

# The camera stands within a third of the visibility, better a quarter (common practice).
FARTHEST_OF_VISIBILITY = 1 / 3
BETTER_OF_VISIBILITY = 1 / 4


class Water(Enum):
    """Refractive index of visible light against air. Source: Knight, as above."""

    FRESH = 1.333
    SEA = 1.34

    @property
    def refractive_index(self) -> float:
        """Of water against air, without unit."""
        return self.value


class Port(StrEnum):
    """What the lens looks through. A dome is taken to be centred on the entrance pupil."""

    FLAT = "flat"
    DOME = "dome"


@dataclass(frozen=True)
class Camera:
    """A rectilinear lens before a sensor, behind a port in water.

    The sensor as the upright picture shows it, width along u. `pupil_behind_port_m`: from the
    entrance pupil to the outer face of the port, m; for a dome its radius. 0 is good enough for
    a footprint behind a flat port, where the pupil stands a few centimetres back: the footprint
    is then told a little too small. Raises ValueError for sizes that are not positive.
    """

    focal_length_mm: float
    sensor_width_mm: float
    sensor_height_mm: float
    picture_width_px: int
    picture_height_px: int
    port: Port = Port.FLAT
    water: Water = Water.SEA
    pupil_behind_port_m: float = 0.0

    def __post_init__(self) -> None:
        demand_positive("focal length", self.focal_length_mm)
        demand_positive("sensor width", self.sensor_width_mm)
        demand_positive("sensor height", self.sensor_height_mm)
        if self.picture_width_px < 1 or self.picture_height_px < 1:
            size = f"{self.picture_width_px!r} × {self.picture_height_px!r}"
            raise ValueError(f"A picture has at least one pixel, not {size}.")
        if not 0.0 <= self.pupil_behind_port_m < math.inf:
            raise ValueError(f"The pupil stands behind the port, not {self.pupil_behind_port_m!r}.")

    @property
    def index(self) -> float:
        """By how much the port bends: the water's refractive index, 1 behind a dome."""
        return self.water.refractive_index if self.port is Port.FLAT else 1.0


@dataclass(frozen=True)
class Footprint:
    """What a picture covers of a plane across the axis.

    `width_m`, `height_m` along the picture's middle row and column; behind a flat port the
    corners are drawn in, so that between the corners of one edge lie `corner_width_m` and
    `corner_height_m`, a little less. `middle_mm_a_pixel` in the picture's middle;
    `edge_mm_a_pixel` along the middle row at its ends, outward.
    """

    width_m: float
    height_m: float
    corner_width_m: float
    corner_height_m: float
    middle_mm_a_pixel: float
    edge_mm_a_pixel: float


def field_of_view_in_air_deg(side_mm: float, focal_length_mm: float) -> float:
    """The angle that a side (or diagonal) of the sensor sees in air.

    2·atan(side / (2 f)); mm → degrees. Raises ValueError for sizes that are not positive.
    """
    demand_positive("sensor side", side_mm)
    demand_positive("focal length", focal_length_mm)
    return math.degrees(2 * math.atan(side_mm / (2 * focal_length_mm)))


def field_of_view_in_water_deg(
    in_air_deg: float, water: Water = Water.SEA, port: Port = Port.FLAT
) -> float:
    """The angle seen in water by a camera that sees `in_air_deg` in air, exactly.

    Flat port: 2·asin(sin(FOV_air / 2) / n), Snell's law at the end of the field. A dome keeps
    the angle. Degrees. Raises ValueError for an angle not between 0 and 180. Source: Knight.
    """
    if not 0.0 < in_air_deg < 180.0:
        raise ValueError(f"A field of view lies between 0 and 180°, not {in_air_deg!r}.")
    if port is Port.DOME:
        return in_air_deg
    bent = math.sin(math.radians(in_air_deg / 2)) / water.refractive_index
    return math.degrees(2 * math.asin(bent))


def field_of_view_paraxial_deg(
    side_mm: float, focal_length_mm: float, water: Water = Water.SEA
) -> float:
    """The angle that handbooks give behind a flat port: as if the focal length were f·n.

    2·atan(side / (2 f n)); mm → degrees. Right near the axis only: at 28 mm on 36 mm the exact
    width is 8 % less. Raises ValueError for sizes that are not positive.
    """
    return field_of_view_in_air_deg(side_mm, focal_length_mm * water.refractive_index)


def footprint(camera: Camera, distance_m: float) -> Footprint:
    """What a picture covers of a plane `distance_m` before the port, by exact refraction.

    A sensor point at ρ = r/f off the axis looks at R(ρ) = p·ρ + d·ρ/√(n² + (n² − 1)ρ²) off the
    axis, in the same direction, for a pupil p behind the port and a plane d before it; n is 1
    behind a dome. dR/dρ = p + d·n²/(n² + (n² − 1)ρ²)^{3/2} gives the size of a pixel. Metres,
    millimetres a pixel. Raises ValueError for a distance that is not positive.
    """
    demand_positive("distance", distance_m)
    half_u = camera.sensor_width_mm / 2 / camera.focal_length_mm
    half_v = camera.sensor_height_mm / 2 / camera.focal_length_mm
    corner = _reach_m(camera, math.hypot(half_u, half_v), distance_m) / math.hypot(half_u, half_v)
    rho_a_pixel = 2 * half_u / camera.picture_width_px
    return Footprint(
        width_m=2 * _reach_m(camera, half_u, distance_m),
        height_m=2 * _reach_m(camera, half_v, distance_m),
        corner_width_m=2 * half_u * corner,
        corner_height_m=2 * half_v * corner,
        middle_mm_a_pixel=1000 * rho_a_pixel * _slope_m(camera, 0.0, distance_m),
        edge_mm_a_pixel=1000 * rho_a_pixel * _slope_m(camera, half_u, distance_m),
    )


def footprint_paraxial(camera: Camera, distance_m: float) -> Footprint:
    """The footprint by the handbooks' paraxial rule, to stand beside the exact one.

    side·d / (f n) from the port, and p·side / f behind it; every pixel alike. Behind a dome it
    is the exact one. Metres, millimetres a pixel. Raises ValueError for a distance that is not
    positive.
    """
    demand_positive("distance", distance_m)
    a_rho_m = camera.pupil_behind_port_m + distance_m / camera.index
    width_m = a_rho_m * camera.sensor_width_mm / camera.focal_length_mm
    height_m = a_rho_m * camera.sensor_height_mm / camera.focal_length_mm
    pixel_mm = 1000 * width_m / camera.picture_width_px
    return Footprint(width_m, height_m, width_m, height_m, pixel_mm, pixel_mm)


def distance_for_width_m(camera: Camera, width_m: float) -> float:
    """From port to plane for a footprint `width_m` wide along the middle row, exactly.

    The inverse of `footprint`: d = (W/2 − p·ρ)·√(n² + (n² − 1)ρ²) / ρ, m. Raises ValueError for
    a width that the camera sees at its port already, or that is not positive.
    """
    demand_positive("footprint", width_m)
    half_u = camera.sensor_width_mm / 2 / camera.focal_length_mm
    left_m = width_m / 2 - camera.pupil_behind_port_m * half_u
    if left_m <= 0.0:
        raise ValueError(f"The port itself is seen wider than {width_m!r} m.")
    return left_m / _reach_of_water(camera, half_u)


def distance_for_width_paraxial_m(camera: Camera, width_m: float) -> float:
    """From port to plane for a footprint of a width, by the handbooks' paraxial rule.

    The inverse of `footprint_paraxial`: d = n·(W·f / side − p), m; too near for a whole picture.
    Raises ValueError as `distance_for_width_m`.
    """
    demand_positive("footprint", width_m)
    left_m = width_m * camera.focal_length_mm / camera.sensor_width_mm - camera.pupil_behind_port_m
    if left_m <= 0.0:
        raise ValueError(f"The port itself is seen wider than {width_m!r} m.")
    return camera.index * left_m


def against_visibility(distance_m: float, visibility_m: float) -> Told:
    """Whether the camera stands near enough for the day's water.

    At most a third of the visibility, better a quarter (common practice): beyond, the water
    between takes contrast and colour, and no light mends it. Metres; a visibility of 0 is one.
    Raises ValueError for a distance that is not positive or a negative visibility.
    """
    demand_positive("distance", distance_m)
    if not 0.0 <= visibility_m < math.inf:
        raise ValueError(f"Visibility is 0 or more, not {visibility_m!r} m.")
    values = {
        "distance": round(distance_m, 2),
        "visibility": round(visibility_m, 2),
        "third": round(visibility_m * FARTHEST_OF_VISIBILITY, 2),
        "quarter": round(visibility_m * BETTER_OF_VISIBILITY, 2),
    }
    if distance_m > visibility_m * FARTHEST_OF_VISIBILITY:
        sentence = gettext_noop(
            "The camera stands %(distance)s m off in water of %(visibility)s m visibility: too "
            "far. Go within %(third)s m, or wait for clearer water."
        )
        return Told("too-far-for-water", Weight.WARN, sentence, values)
    if distance_m > visibility_m * BETTER_OF_VISIBILITY:
        sentence = gettext_noop(
            "The camera stands %(distance)s m off in water of %(visibility)s m visibility: near "
            "enough, better within %(quarter)s m."
        )
        return Told("rather-far-for-water", Weight.MENTION, sentence, values)
    sentence = gettext_noop(
        "The camera stands %(distance)s m off in water of %(visibility)s m visibility: near enough."
    )
    return Told("near-enough-for-water", Weight.FINE, sentence, values)


def _reach_of_water(camera: Camera, rho: float) -> float:
    """tan θ in water of the ray that leaves the lens at tan θ = ρ."""
    n2 = camera.index**2
    return rho / math.sqrt(n2 + (n2 - 1) * rho**2)


def _reach_m(camera: Camera, rho: float, distance_m: float) -> float:
    return camera.pupil_behind_port_m * rho + distance_m * _reach_of_water(camera, rho)


def _slope_m(camera: Camera, rho: float, distance_m: float) -> float:
    n2 = camera.index**2
    return camera.pupil_behind_port_m + distance_m * n2 / math.pow(n2 + (n2 - 1) * rho**2, 1.5)
