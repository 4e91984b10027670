"""From where to where a picture is sharp, in air and behind a port in water.

Depth of field of a thin lens, distances from the lens in air, from the outer face of the port in
water. Source of the formulas: geometrical optics; each limit is where a point's blur on the
sensor grows to the circle that still passes for a point.
"""

import math
from dataclasses import dataclass

from survey.camera import Camera, Port
from survey.errors import demand_positive


@dataclass(frozen=True)
class DepthOfField:
    """From where to where the picture is sharp enough, and the hyperfocal distance, m.

    `far_m` may be infinite: all beyond `near_m` is sharp.
    """

    near_m: float
    far_m: float
    hyperfocal_m: float


def hyperfocal_mm(focal_length_mm: float, f_number: float, blur_mm: float) -> float:
    """Focused here, a lens in air is sharp from half of it to infinity: f²/(N c) + f, mm.

    `blur_mm`: the largest circle on the sensor that still passes for a point (0.03 mm on 36 ×
    24 mm; common practice). The short form leaves the last f out. Raises ValueError for values
    that are not positive.
    """
    demand_positive("focal length", focal_length_mm)
    demand_positive("f-number", f_number)
    demand_positive("circle of blur", blur_mm)
    return focal_length_mm**2 / (f_number * blur_mm) + focal_length_mm


def depth_of_field_in_air(
    focal_length_mm: float, f_number: float, blur_mm: float, distance_m: float
) -> DepthOfField:
    """From where to where a thin lens focused at `distance_m` is sharp in air.

    near = s(H − f)/(H + s − 2f), far = s(H − f)/(H − s), infinite from s = H on; s from the
    lens. Raises ValueError for values that are not positive or a distance within f.
    """
    h_m = hyperfocal_mm(focal_length_mm, f_number, blur_mm) / 1000
    f_m = focal_length_mm / 1000
    if not f_m < distance_m < math.inf:
        raise ValueError(f"A lens focuses beyond its focal length, not at {distance_m!r} m.")
    near_m = distance_m * (h_m - f_m) / (h_m + distance_m - 2 * f_m)
    far_m = distance_m * (h_m - f_m) / (h_m - distance_m) if distance_m < h_m else math.inf
    return DepthOfField(near_m, far_m, h_m)


def depth_of_field_in_water(
    camera: Camera, f_number: float, blur_mm: float, distance_m: float
) -> DepthOfField:
    """From where to where a camera focused on a plane `distance_m` before its port is sharp.

    The lens does not see the plane but its virtual image in air, near the axis at d/n before a
    flat port, and at 1/((n − 1)/R + n/d) before a dome of radius R; the thin-lens formulas hold
    for that image (pupil to port added), and their answers are carried back into water. An
    approximation: thin lens, small angles, a thin port; toward a flat port's edge the image is
    blurred besides by the port itself, which no focusing mends. `hyperfocal_m` is the lens's own
    in air. Behind a dome, whose image of all the sea lies within R/(n − 1), a far limit beyond
    that is infinite. Metres from the port; `near_m` is 0 where all from the port on is sharp.
    Raises ValueError as `depth_of_field_in_air`, and for a dome without a radius.
    """
    demand_positive("distance", distance_m)
    p_m = camera.pupil_behind_port_m
    if camera.port is Port.DOME and p_m == 0.0:
        raise ValueError("A dome's image needs its radius, not 0.0.")
    seen_m = p_m + _image_m(camera, distance_m)
    air = depth_of_field_in_air(camera.focal_length_mm, f_number, blur_mm, seen_m)
    near_m = _object_m(camera, air.near_m - p_m)
    return DepthOfField(max(near_m, 0.0), _object_m(camera, air.far_m - p_m), air.hyperfocal_m)


def _image_m(camera: Camera, object_m: float) -> float:
    """How far before the port the virtual image of a point in water seems to lie in air."""
    n = camera.water.refractive_index
    if camera.port is Port.FLAT:
        return object_m / n
    return 1 / ((n - 1) / camera.pupil_behind_port_m + n / object_m)


def _object_m(camera: Camera, image_m: float) -> float:
    """The inverse of `_image_m`; infinite beyond the image of all the sea."""
    n = camera.water.refractive_index
    if camera.port is Port.FLAT or image_m <= 0.0:
        return image_m * n
    sea = (n - 1) / camera.pupil_behind_port_m
    return n / (1 / image_m - sea) if image_m * sea < 1.0 else math.inf
