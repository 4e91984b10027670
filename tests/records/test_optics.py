"""The optics page of a set-up: exact refraction beside the handbooks' rule."""

import pytest
from django.urls import reverse

from records.acting import acting_as
from records.models import Role
from tests.factory import make_member, make_season
from tests.factory_pictures import make_tower_set_up


@pytest.fixture
def season(db):
    return make_season(zone="UTC")


@pytest.fixture
def optics(client, season):
    client.force_login(make_member(season.site, Role.READER).account)

    def get(fields, asked, status=200):
        with acting_as(make_member(season.site, Role.LEAD).account):
            set_up = make_tower_set_up(season, **fields)
        answer = client.get(reverse("set_up_optics", args=[season.code, set_up.pk]), asked)
        assert answer.status_code == status
        return answer.content.decode()

    return get


LENS_28 = {"focal_length_mm": 28.0, "sensor_width_mm": 36.0, "height_m": 2.0}


def test_exact_and_paraxial_stand_side_by_side(optics):
    """28 mm on 36 mm in fresh water at 2 m: 65.5° in air, 47.9° against 51.5° in water, 1.775
    against 1.929 m wide, 8.7 % more (Snell's law; D. Knight, *Optical characteristics of the
    flat underwater lens port*)."""
    told = optics(LENS_28, {"water": "fresh"})

    assert "promises 8.7 % more width" in told
    for shown in ("65.5°", "47.9°", "51.5°", "1.78 × ", "1.93 × 1.29 m"):
        assert shown in told


def test_a_footprint_that_optics_cannot_explain_is_told(optics):
    """1.5 m measured where 1.775 m can be seen: 15.5 % less."""
    assert "16 % less than this camera can see from 2.00 m" in optics(LENS_28, {"water": "fresh"})


def test_a_footprint_that_agrees_is_only_told(optics):
    told = optics(LENS_28 | {"footprint_x_m": 1.77, "footprint_y_m": 1.2}, {"water": "fresh"})

    assert "Footprint as typed, not yet marked on the base: 1.77 × 1.20 m." in told
    assert "Check height" not in told


def test_a_footprint_is_not_held_against_another_port(optics):
    """28 mm behind a dome sees 2.57 m from 2 m: no matter for a set-up behind a flat port."""
    assert "than this camera can see" not in optics(LENS_28, {"port": "dome"})


def test_a_dome_keeps_the_angle_and_wants_its_radius_for_sharpness(optics):
    """1.9 + 0.1 m from the lens at 36/28: 2.57 m wide (common practice)."""
    dome = LENS_28 | {"port": "Dome, 20 cm", "height_m": 1.9}

    assert "give its radius" in optics(dome, {"f_number": "8"})
    told = optics(dome, {"pupil_mm": "100", "f_number": "8"})
    assert "a picture covers 2.57 × 1.71 m" in told
    assert "Sharp from" in told


def test_sharpness_and_distance_behind_a_flat_port(optics):
    """50 mm f/16 in air at 2 m: 1.455 to 3.197 m (thin lens); in fresh water times 1.333, from
    2.666 m. A width of 1.051 m is 2 m off, by the paraxial rule 1.051·50·1.333/36 = 1.95 m."""
    asked = {
        "water": "fresh",
        "distance_m": "2.67",
        "f_number": "16",
        "wanted_width_m": "1.05",
    }
    told = optics(LENS_28 | {"focal_length_mm": 50.0}, asked)

    assert "Sharp from 1.94 to 4.27 m" in told
    assert "2.00 m" in told
    assert "1.94 m" in told


def test_an_upright_sensor_sees_its_width_upward(optics):
    """A quarter turn: the sensor's 36 mm lie along v."""
    upright = {"picture_width_px": 1000, "picture_height_px": 1500}
    upright |= {"footprint_x_m": 1.2, "footprint_y_m": 1.77}

    assert "1.29 × 1.93 m" in optics(LENS_28 | upright, {"water": "fresh"})


def test_without_a_focal_length_it_says_so(optics):
    assert "cannot be computed" in optics({}, {})


def test_a_distance_of_nothing_is_told(optics):
    assert "at least 0.1 m" in optics(LENS_28, {"distance_m": "0"}, 422)
