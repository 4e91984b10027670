"""A base with a printed marker in each corner, seen by a pinhole camera of known pose."""

import numpy as np
import pytest

from survey.base_corners import BaseSeen, corner_markers, see_base, stretch_of_markers
from survey.errors import Unfit
from survey.markers import Kind, Marker, meaning_of
from survey.marks import place_by_marks
from tests.survey.pinhole import HEIGHT_PX, WIDTH_PX, Pinhole

CAMERA = Pinhole(height_m=2.0, tilt_deg=5.0, tilt_toward_deg=70.0, turn_deg=3.0)
BASE = corner_markers(1.2, 0.8, 0.08)


def found(base=BASE):
    return [Marker(one.code, CAMERA.picture(one.corners_m)) for one in base]


def placed(seen):
    picture = [(one.u_px, one.v_px) for one in seen.marks]
    return place_by_marks(picture, [(one.x_m, one.y_m) for one in seen.marks], WIDTH_PX, HEIGHT_PX)


def test_the_outer_corners_of_the_black_are_the_corners_of_the_base():
    meant = [meaning_of(one.code) for one in BASE]
    assert [(one.kind, one.number) for one in meant] == [(Kind.BASE, n) for n in (1, 2, 3, 4)]
    every = np.concatenate([one.corners_m for one in BASE])
    assert np.abs(every).max(axis=0) == pytest.approx([0.6, 0.4])

    seen = see_base(found(), BASE)
    outer = [(one.number, one.x_m, one.y_m) for one in seen.marks if one.is_outer]
    assert np.array(outer) == pytest.approx(
        np.array([(1, -0.6, -0.4), (2, 0.6, -0.4), (3, 0.6, 0.4), (4, -0.6, 0.4)])
    )
    assert len(seen.marks) == 16
    assert seen.missing == ()
    np.testing.assert_allclose(
        placed(seen).placement.matrix, CAMERA.px_to_plane / CAMERA.px_to_plane[2, 2], atol=1e-9
    )


def test_noise_of_the_corners_shows_in_an_honest_residual():
    """σ = 0.3 px on 16 corners, 24 degrees of freedom: within 20 % over 100 trials."""
    rng, variances = np.random.default_rng(11), []
    for _ in range(100):
        noisy = [Marker(one.code, one.corners + rng.normal(0, 0.3, (4, 2))) for one in found()]
        fitted = placed(see_base(noisy, BASE))
        assert fitted.degrees_of_freedom == 24
        variances.append(fitted.variance_px2)

    assert np.sqrt(np.mean(variances)) == pytest.approx(0.3, rel=0.1)


def test_what_is_missing_is_named_and_one_marker_is_not_enough():
    seen = see_base(found()[:3], BASE)
    assert isinstance(seen, BaseSeen)
    assert (seen.missing, len(seen.marks)) == ((4,), 12)

    for some, code in (([], "no-base-marker"), (found()[:1], "one-base-marker")):
        told = see_base(some, BASE)
        assert isinstance(told, Unfit)
        assert told.code == code
    assert see_base([*found(), found()[0]], BASE).code == "base-marker-twice"


def test_a_base_noted_wrongly_stretches_its_markers():
    """94 × 80 cm, noted as 120 × 80: markers of one size come out wider than high."""
    seen = see_base(found(corner_markers(0.94, 0.8, 0.08)), BASE)
    along_x, along_y = stretch_of_markers(seen, placed(seen).placement)
    assert along_x == pytest.approx(1.2 / 0.94, rel=0.03)
    assert along_y == pytest.approx(1.0, rel=0.01)

    right = see_base(found(), BASE)
    assert stretch_of_markers(right, placed(right).placement) == pytest.approx((1, 1), abs=1e-9)


def test_markers_that_do_not_fit_are_a_wrong_call():
    for sizes in ((0.1, 0.8, 0.08), (1.0, 0.8, 0.0)):
        with pytest.raises(ValueError, match="do not fit"):
            corner_markers(*sizes)
