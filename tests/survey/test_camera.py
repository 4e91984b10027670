"""Cameras behind ports, against published values, ray tracing and Fermat's principle."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from scipy.optimize import minimize_scalar

from survey.camera import (
    Camera,
    Port,
    Water,
    against_visibility,
    distance_for_width_m,
    distance_for_width_paraxial_m,
    field_of_view_in_air_deg,
    field_of_view_in_water_deg,
    field_of_view_paraxial_deg,
    footprint,
    footprint_paraxial,
)
from survey.depth_of_field import (
    depth_of_field_in_air,
    depth_of_field_in_water,
    hyperfocal_mm,
)
from survey.told import Weight

focal_lengths_mm = st.floats(12.0, 100.0)
distances_m = st.floats(0.3, 8.0)
waters = st.sampled_from(Water)
cameras = st.builds(
    Camera,
    focal_length_mm=focal_lengths_mm,
    sensor_width_mm=st.floats(12.0, 44.0),
    sensor_height_mm=st.floats(9.0, 33.0),
    picture_width_px=st.just(6000),
    picture_height_px=st.just(4000),
    port=st.sampled_from(Port),
    water=waters,
    pupil_behind_port_m=st.floats(0.0, 0.12),
)


def of_36_mm(focal_length_mm, **changes):
    return Camera(focal_length_mm, 36.0, 24.0, 6000, 4000, **{"water": Water.FRESH} | changes)


def refracted(ray, n):
    """Snell's law for unit rays at a port across z, from air into water of index n.

    The vector form, A. Glassner (ed.), *An Introduction to Ray Tracing*, ch. 2 (from memory):
    along the port a ray keeps 1/n of its direction.
    """
    along = ray[:, :2] / n
    return np.column_stack([along, np.sqrt(1 - (along**2).sum(axis=1))])


def traced(camera, distance_m, u_mm, v_mm):
    """Where sensor points' rays meet the plane, port at z = 0, plane at z = distance."""
    ray = np.column_stack([u_mm, v_mm, np.full_like(u_mm, camera.focal_length_mm)])
    at_port = ray[:, :2] / ray[:, 2:] * camera.pupil_behind_port_m
    ray /= np.linalg.norm(ray, axis=1)[:, None]
    n = camera.water.refractive_index if camera.port is Port.FLAT else 1.0
    wet = refracted(ray, n)
    return at_port + wet[:, :2] / wet[:, 2:] * distance_m


@pytest.mark.parametrize(
    ("focal_mm", "air_deg", "fresh_deg", "sea_deg", "exact_m", "paraxial_m"),
    [
        (24.0, 73.740, 53.502, 53.200, 2.016, 2.251),
        (28.0, 65.470, 47.866, 47.601, 1.775, 1.929),
        (35.0, 54.432, 40.131, 39.913, 1.461, 1.543),
        (50.0, 39.598, 29.441, 29.284, 1.051, 1.080),
    ],
)
def test_fields_of_view_behind_a_flat_port(
    focal_mm, air_deg, fresh_deg, sea_deg, exact_m, paraxial_m
):
    """36 mm wide, from Snell's law; D. Knight, *Optical characteristics of the flat underwater
    lens port*: 2·asin(sin(FOV/2)/n), n 1.333 fresh and 1.34 sea; widths at 2 m in fresh water."""
    in_air = field_of_view_in_air_deg(36.0, focal_mm)
    camera = of_36_mm(focal_mm)

    assert in_air == pytest.approx(air_deg, abs=5e-4)
    assert field_of_view_in_water_deg(in_air, Water.FRESH) == pytest.approx(fresh_deg, abs=5e-4)
    assert field_of_view_in_water_deg(in_air, Water.SEA) == pytest.approx(sea_deg, abs=5e-4)
    assert footprint(camera, 2.0).width_m == pytest.approx(exact_m, abs=5e-4)
    assert footprint_paraxial(camera, 2.0).width_m == pytest.approx(paraxial_m, abs=5e-4)


def test_the_exact_width_is_eight_percent_less_than_the_handbooks():
    """28 mm on 36 mm: 1.775 against 1.929 m, 8.0 % less, by the two formulas above."""
    camera = of_36_mm(28.0)

    share = footprint(camera, 2.0).width_m / footprint_paraxial(camera, 2.0).width_m

    assert 1 - share == pytest.approx(0.080, abs=5e-4)


def test_paraxial_footprint_and_pixel():
    """28 mm on 36 × 24 mm, 6000 px, at 1.5 m: 1.4468 × 0.9645 m, 0.2411 mm a pixel, by hand."""
    told = footprint_paraxial(of_36_mm(28.0), 1.5)

    assert told.width_m == pytest.approx(1.4468, abs=5e-5)
    assert told.height_m == pytest.approx(0.9645, abs=5e-5)
    assert told.edge_mm_a_pixel == told.middle_mm_a_pixel == pytest.approx(0.2411, abs=5e-5)


def test_no_flat_port_sees_beyond_the_critical_angle():
    """As the field in air nears 180°, Snell's window: 2·asin(1/1.333) = 97.2° (general optics)."""
    assert field_of_view_in_water_deg(179.999, Water.FRESH) == pytest.approx(97.2, abs=0.05)


@given(camera=cameras, distance_m=distances_m)
def test_footprints_are_where_traced_rays_land(camera, distance_m):
    told = footprint(camera, distance_m)
    half_u, half_v = camera.sensor_width_mm / 2, camera.sensor_height_mm / 2

    right, top, corner = traced(
        camera, distance_m, np.array([half_u, 0.0, half_u]), np.array([0.0, half_v, half_v])
    )

    assert_allclose([told.width_m / 2, 0.0], right, atol=1e-12)
    assert_allclose([0.0, told.height_m / 2], top, atol=1e-12)
    assert_allclose([told.corner_width_m / 2, told.corner_height_m / 2], corner, atol=1e-12)


@given(camera=cameras, distance_m=distances_m)
def test_pixels_are_as_large_as_traced_neighbours_lie_apart(camera, distance_m):
    pitch_mm = camera.sensor_width_mm / camera.picture_width_px
    half_mm = camera.sensor_width_mm / 2
    u_mm = np.array([-0.5, 0.5]) * pitch_mm
    told = footprint(camera, distance_m)

    middle = traced(camera, distance_m, u_mm, np.zeros(2))[:, 0]
    edge = traced(camera, distance_m, u_mm + half_mm, np.zeros(2))[:, 0]

    assert told.middle_mm_a_pixel == pytest.approx(1000 * np.diff(middle)[0], rel=1e-6)
    assert told.edge_mm_a_pixel == pytest.approx(1000 * np.diff(edge)[0], rel=1e-6)
    assert told.edge_mm_a_pixel <= told.middle_mm_a_pixel + 1e-12


@pytest.mark.parametrize("reach_m", [0.1, 0.6, 1.1])
def test_light_takes_the_quickest_way_through_the_port(reach_m):
    """Fermat's principle, from no angle at all: least n·path from the plane to the pupil."""
    pupil_m, distance_m, n = 0.05, 1.5, Water.SEA.refractive_index

    def optical_path_m(at_port_m):
        return math.hypot(pupil_m, at_port_m) + n * math.hypot(distance_m, reach_m - at_port_m)

    at_port_m = minimize_scalar(
        optical_path_m, bounds=(0.0, reach_m), method="bounded", options={"xatol": 1e-12}
    ).x
    rho = at_port_m / pupil_m  # the sensor's edge that sees there
    camera = Camera(10.0, 20.0 * rho, 1.0, 100, 100, pupil_behind_port_m=pupil_m)

    assert footprint(camera, distance_m).width_m / 2 == pytest.approx(reach_m, abs=2e-7)


def test_ten_millimetres_of_glass_may_be_left_out():
    """A window of index 1.52 shifts the end of the field by t·tan θ_glass, sin θ_glass =
    sin θ_air / 1.52: under 1 % of the widest of these lenses at 1 m, as the module says."""
    half_deg = field_of_view_in_air_deg(36.0, 24.0) / 2
    shift_m = 0.010 * math.tan(math.asin(math.sin(math.radians(half_deg)) / 1.52))

    assert 2 * shift_m < 0.01 * footprint(of_36_mm(24.0), 1.0).width_m


def test_a_dome_keeps_the_angle_of_air():
    """Centred on the entrance pupil, no ray is bent (common practice): 1.5 m from the pupil at
    28 mm on 36 mm is 1.5·36/28 m wide."""
    camera = of_36_mm(28.0, port=Port.DOME, pupil_behind_port_m=0.1)
    told = footprint(camera, 1.4)

    assert field_of_view_in_water_deg(65.47, Water.SEA, Port.DOME) == 65.47
    assert told.width_m == pytest.approx(1.5 * 36 / 28)
    assert told.corner_width_m == pytest.approx(told.width_m)
    assert told.edge_mm_a_pixel == pytest.approx(told.middle_mm_a_pixel)
    assert footprint_paraxial(camera, 1.4).width_m == pytest.approx(told.width_m)


@given(camera=cameras, distance_m=distances_m)
def test_a_wanted_width_comes_back_from_its_distance(camera, distance_m):
    width_m = footprint(camera, distance_m).width_m

    assert distance_for_width_m(camera, width_m) == pytest.approx(distance_m, rel=1e-9)
    rule_m = footprint_paraxial(camera, distance_m).width_m
    assert distance_for_width_paraxial_m(camera, rule_m) == pytest.approx(distance_m, rel=1e-9)


@given(focal_mm=focal_lengths_mm, water=waters)
def test_the_rules_agree_near_the_axis(focal_mm, water):
    """What "paraxial" means: the ratio of the two goes to 1 with the field."""
    narrow = field_of_view_in_air_deg(0.1, focal_mm)

    exact = field_of_view_in_water_deg(narrow, water)

    assert exact == pytest.approx(field_of_view_paraxial_deg(0.1, focal_mm, water), rel=1e-4)


@pytest.mark.parametrize(
    ("focal_mm", "f_number", "distance_m", "h_mm", "near_mm", "far_mm"),
    [
        (50.0, 8.0, 3.0, 10_466.67, 2_337.91, 4_185.27),
        (50.0, 16.0, 2.0, 5_258.33, 1_455.18, 3_196.93),
    ],
)
def test_depth_of_field_of_a_thin_lens(focal_mm, f_number, distance_m, h_mm, near_mm, far_mm):
    """c 0.03 mm; near and far from the formulas, computed apart in exact fractions; the second
    H by hand, 2500/0.48 + 50."""
    told = depth_of_field_in_air(focal_mm, f_number, 0.03, distance_m)

    assert hyperfocal_mm(focal_mm, f_number, 0.03) == pytest.approx(h_mm, abs=5e-3)
    assert 1000 * told.near_m == pytest.approx(near_mm, abs=5e-3)
    assert 1000 * told.far_m == pytest.approx(far_mm, abs=5e-3)


def test_the_short_form_of_the_hyperfocal_distance():
    """35 mm f/11 c 0.03: 3 712.12 mm by f²/(N c), as published; ours adds the f."""
    assert hyperfocal_mm(35.0, 11.0, 0.03) - 35.0 == pytest.approx(3_712.12, abs=5e-3)


def blur_mm(focal_mm, f_number, focused_m, object_m):
    """The blur of a point on the sensor, from 1/f = 1/s + 1/s′ and the cone behind the lens."""
    image_of = [1 / (1 / focal_mm - 1 / (1000 * s)) for s in (focused_m, object_m)]
    return focal_mm / f_number * abs(image_of[1] - image_of[0]) / image_of[1]


@given(
    focal_mm=focal_lengths_mm,
    f_number=st.floats(2.0, 22.0),
    distance_m=distances_m,
    circle_mm=st.floats(0.005, 0.05),
)
def test_at_its_limits_a_point_blurs_to_the_circle(focal_mm, f_number, distance_m, circle_mm):
    told = depth_of_field_in_air(focal_mm, f_number, circle_mm, distance_m)

    near = blur_mm(focal_mm, f_number, distance_m, told.near_m)
    assert near == pytest.approx(circle_mm, rel=1e-6)
    if told.far_m < 1000.0:
        far = blur_mm(focal_mm, f_number, distance_m, told.far_m)
        assert far == pytest.approx(circle_mm, rel=1e-6)


def test_focused_at_the_hyperfocal_distance_half_of_it_to_infinity_is_sharp():
    """The definition of H (general optics)."""
    h_m = hyperfocal_mm(35.0, 8.0, 0.03) / 1000

    told = depth_of_field_in_air(35.0, 8.0, 0.03, h_m)

    assert told.near_m == pytest.approx(h_m / 2, rel=1e-9)
    assert told.far_m == math.inf


def test_behind_a_flat_port_the_lens_focuses_on_an_image_at_three_quarters():
    """d/n in air: 2.666 m in fresh water seem 2 m off (common practice); what air's limits of 2 m
    are, water's are 1.333 times."""
    air = depth_of_field_in_air(50.0, 16.0, 0.03, 2.0)

    water = depth_of_field_in_water(of_36_mm(50.0), 16.0, 0.03, 2.666)

    assert water.near_m == pytest.approx(1.333 * air.near_m)
    assert water.far_m == pytest.approx(1.333 * air.far_m)


def dome_image_m(radius_m, n, object_m):
    """How far before a dome a point on the axis seems to lie: one ray near the axis, traced
    through the sphere with Snell's law and followed back."""
    at_m = 1e-4 * radius_m  # off the axis, where it meets the dome
    normal = math.asin(at_m / radius_m)
    sag_m = radius_m * (1 - math.cos(normal))
    incidence = math.atan(at_m / (object_m + sag_m)) + normal
    return at_m / math.tan(math.asin(n * math.sin(incidence)) - normal) - sag_m


@pytest.mark.parametrize("object_m", [0.3, 1.5, 1e9])
def test_behind_a_dome_the_lens_focuses_on_the_traced_image(object_m):
    """Air's limits for the traced image, and theirs in turn are images of the water's limits.
    All the sea lies within 3 radii before a dome (R/(n − 1), common practice)."""
    n, radius_m = Water.FRESH.refractive_index, 0.1
    camera = of_36_mm(20.0, port=Port.DOME, pupil_behind_port_m=radius_m)
    image_m = dome_image_m(radius_m, n, object_m)
    air = depth_of_field_in_air(20.0, 5.6, 0.01, radius_m + image_m)

    water = depth_of_field_in_water(camera, 5.6, 0.01, object_m)

    near_image_m = dome_image_m(radius_m, n, water.near_m)
    assert near_image_m == pytest.approx(air.near_m - radius_m, rel=1e-6)
    assert near_image_m < image_m < 3.01 * radius_m
    of_all_the_sea_m = dome_image_m(radius_m, n, 1e9)
    far_image_m = min(air.far_m - radius_m, of_all_the_sea_m)
    assert dome_image_m(radius_m, n, min(water.far_m, 1e9)) == pytest.approx(far_image_m, rel=1e-6)
    assert (water.far_m == math.inf) == (far_image_m == of_all_the_sea_m)


def test_a_stopped_down_lens_behind_a_dome_is_sharp_from_near_to_infinity():
    camera = of_36_mm(20.0, port=Port.DOME, pupil_behind_port_m=0.1)

    told = depth_of_field_in_water(camera, 16.0, 0.03, 1.0)

    assert 0.0 <= told.near_m < 0.5
    assert told.far_m == math.inf


@pytest.mark.parametrize(
    ("distance_m", "weight"),
    [(1.5, Weight.FINE), (1.51, Weight.MENTION), (2.0, Weight.MENTION), (2.01, Weight.WARN)],
)
def test_the_camera_stands_within_a_third_of_the_visibility_better_a_quarter(distance_m, weight):
    """6 m visibility: 2 m at most, better 1.5 m (common practice)."""
    told = against_visibility(distance_m, 6.0)

    assert told.weight is weight
    assert f"{distance_m} m off in water of 6.0 m" in str(told)
    assert ("2.0 m" in str(told)) == (distance_m >= 2.0)


def test_in_water_without_visibility_every_camera_is_too_far():
    assert against_visibility(0.1, 0.0).weight is Weight.WARN


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: Camera(0.0, 36.0, 24.0, 6000, 4000),
        lambda: Camera(28.0, -36.0, 24.0, 6000, 4000),
        lambda: Camera(28.0, 36.0, math.nan, 6000, 4000),
        lambda: Camera(28.0, 36.0, 24.0, 0, 4000),
        lambda: of_36_mm(28.0, pupil_behind_port_m=-0.1),
        lambda: footprint(of_36_mm(28.0), 0.0),
        lambda: footprint_paraxial(of_36_mm(28.0), math.inf),
        lambda: distance_for_width_m(of_36_mm(28.0), 0.0),
        lambda: distance_for_width_m(of_36_mm(28.0, pupil_behind_port_m=0.1), 0.1),
        lambda: distance_for_width_paraxial_m(of_36_mm(28.0, pupil_behind_port_m=0.1), 0.1),
        lambda: field_of_view_in_water_deg(180.0),
        lambda: field_of_view_in_air_deg(36.0, 0.0),
        lambda: hyperfocal_mm(50.0, 0.0, 0.03),
        lambda: depth_of_field_in_air(50.0, 8.0, 0.03, 0.05),
        lambda: depth_of_field_in_water(of_36_mm(28.0, port=Port.DOME), 8.0, 0.03, 1.0),
        lambda: against_visibility(1.0, -0.1),
        lambda: against_visibility(0.0, 6.0),
    ],
)
def test_what_no_camera_can_be_is_refused(wrong):
    with pytest.raises(ValueError):
        wrong()
