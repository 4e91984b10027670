"""Drawing against photograph, checked against a worked example and a general-purpose library."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from skimage.transform import SimilarityTransform

from survey.agreement import Agreement, agreement_of, best_fit, causes, judged
from survey.errors import Unfit

# Ghilani, Adjustment Computations, example 18.1 (its data from memory; the solution computed
# with scikit-image's SimilarityTransform): two-dimensional conformal transformation, feet.
MEASURED = np.array([[121.622, -128.066], [141.228, 187.718], [175.802, 135.728]])
CONTROL = np.array([[1049422.40, 51089.20], [1049413.95, 49659.30], [1049244.95, 49884.95]])

FEATURES = np.array([[0.2, 0.15], [0.85, 0.2], [0.7, 0.8], [0.25, 0.75], [0.5, 0.5]])
LIMIT_M = 0.03
CARELESS = np.array([[0.06, 0], [-0.05, 0.04], [0.06, 0], [0, -0.06], [-0.07, 0.02]])


def _laid(turn_deg=0.0, scale=1.0, shift=(0.0, 0.0), points=FEATURES):
    turn = math.radians(turn_deg)
    turned = np.array([[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]])
    middle = points.mean(axis=0)
    return (points - middle) @ turned.T * scale + middle + np.array(shift)


def test_the_worked_conformal_transformation():
    best = best_fit(MEASURED, CONTROL)

    assert best.similarity.scale == pytest.approx(4.5196205, abs=5e-8)
    assert best.similarity.turn_deg % 360 == pytest.approx(183.21806, abs=5e-6)
    assert best.s0_m == pytest.approx(0.1398, abs=5e-5)
    assert best.degrees_of_freedom == 2
    moved = best.similarity.applied_to([174.148, -120.262])
    assert_allclose(moved, [1049187.361, 51040.629], atol=5e-4)


@given(st.integers(0, 2**31), st.integers(3, 12))
def test_it_is_the_fit_of_scikit_image(seed, count):
    random = np.random.default_rng(seed)
    drawn = random.uniform(0, 1, (count, 2)) + np.array([104.0, 212.0])
    seen = _laid(random.uniform(-90, 90), random.uniform(0.8, 1.2), points=drawn)
    seen = seen + random.normal(0, 0.01, seen.shape)
    by_skimage = SimilarityTransform.from_estimate(drawn, seen)

    best = best_fit(drawn, seen)

    if isinstance(best, Unfit):  # drawn by chance at one place
        return
    assert_allclose(best.similarity.applied_to(drawn), by_skimage(drawn), atol=1e-9)
    assert best.similarity.scale == pytest.approx(by_skimage.scale, abs=1e-9)
    assert best.similarity.turn_deg == pytest.approx(math.degrees(by_skimage.rotation), abs=1e-7)


def test_offsets_mean_and_root_mean_square():
    result = agreement_of([[0, 0], [1, 0]], [[0.03, 0.04], [1.03, -0.04]])

    assert_allclose(result.offsets_m, [[0.03, 0.04], [0.03, -0.04]])
    assert_allclose(result.mean_m, [0.03, 0.0], atol=1e-15)
    assert result.rms_m == pytest.approx(0.05)
    assert_allclose(result.distances_m, [0.05, 0.05])


@pytest.mark.parametrize(
    ("drawn", "code"),
    [([], "no-points"), (FEATURES[:1], "too-few-points"), (FEATURES[:2], "too-few-points")],
    ids=["none", "one", "two"],
)
def test_fewer_than_three_points_are_a_result_with_a_reason(drawn, code):
    result = agreement_of(drawn, np.array(drawn) + 0.01 if len(drawn) else [])

    reason = result if isinstance(result, Unfit) else result.best
    assert reason.code == code
    assert "%(" not in str(reason)


def test_features_at_one_place_say_nothing_of_turn_and_scale():
    together = 0.5 + FEATURES * 0.01

    assert best_fit(together, together + 0.01).code == "one-place"


def test_what_a_frame_laid_askew_does_is_taken_away_whole():
    best = agreement_of(FEATURES, _laid(4.0, 1.02, (0.03, -0.01))).best

    assert best.left_m == pytest.approx(0, abs=1e-12)
    assert best.similarity.turn_deg == pytest.approx(4.0)
    assert best.similarity.scale == pytest.approx(1.02)
    assert_allclose(best.shift_m, [0.03, -0.01], atol=1e-12)


def test_few_points_do_not_flatter():
    """Pure picking error of 10 mm a coordinate: on average left_m tells it, whatever the count."""
    random = np.random.default_rng(7)

    def left_over(count):
        fits = [
            best_fit(FEATURES[:count], FEATURES[:count] + random.normal(0, 0.01, (count, 2)))
            for _ in range(400)
        ]
        return math.sqrt(np.mean([fit.left_m**2 for fit in fits]))

    for count in (3, 5):
        assert left_over(count) == pytest.approx(0.01 * math.sqrt(2), rel=0.12)


@pytest.mark.parametrize(
    ("seen", "code"),
    [
        (_laid(shift=(0.01, 0.01)), "agree"),
        (_laid(shift=(0.06, 0.0)), "askew"),
        (_laid(turn_deg=9.0), "askew"),
        (_laid(scale=1.15), "askew"),
        (FEATURES + CARELESS, "careless"),
        (_laid(shift=(0.2, 0)) + CARELESS * 0.7, "askew-and-careless"),
    ],
    ids=["agree", "shifted", "turned", "scaled", "careless", "both"],
)
def test_a_frame_laid_askew_is_told_from_careless_drawing(seen, code):
    told = judged(agreement_of(FEATURES, seen), LIMIT_M)

    assert told.code == code
    assert "%(" not in str(told)


@pytest.mark.parametrize(
    "drawn", [FEATURES[:1], FEATURES[:2], 0.5 + FEATURES * 0.001], ids=["one", "two", "one place"]
)
def test_too_few_points_never_agree_and_beyond_the_limit_do_not_say_why(drawn):
    few = judged(agreement_of(drawn, drawn), LIMIT_M)
    assert few.code == "too-few-to-judge"
    assert "too few features to judge" in str(few)
    assert judged(agreement_of(drawn, drawn + 0.05), LIMIT_M).code == "differ"


@pytest.mark.parametrize(
    ("off_m", "told"),
    [(0.0303, "30.3 mm"), (0.03004, "30.04 mm"), (0.0318, "32 mm"), (0.0297, "30 mm")],
)
def test_what_is_beyond_the_limit_never_reads_as_the_limit(off_m, told):
    drawn = FEATURES[:2]
    seen = drawn + np.array([off_m, 0.0])
    assert told in str(judged(agreement_of(drawn, seen), LIMIT_M))


def test_causes_name_only_what_is_more_than_chance():
    noise = np.array([[1, -1], [-1, 1], [1, 1], [-1, -1], [0, 0]]) * 0.004

    def named(seen):
        return [one.code for one in causes(best_fit(FEATURES, seen))]

    assert named(FEATURES + noise) == []
    assert named(_laid(shift=(0.05, 0)) + noise) == ["shift"]
    assert named(_laid(turn_deg=-6.0) + noise) == ["turn"]
    assert [str(one) for one in causes(best_fit(FEATURES, _laid(scale=0.9)))] == [
        "made smaller by 10.0 %"
    ]
    for least in (_laid(0.04), _laid(scale=0.9996), _laid(shift=(0.0004, 0))):  # told as 0
        assert named(least) == []


@pytest.mark.parametrize(
    ("drawn", "seen"),
    [
        (FEATURES, FEATURES[:3]),
        (FEATURES[0], FEATURES[0]),
        ([[0, math.nan]], [[0, 0]]),
        ([[0, 0, 0]], [[0, 0, 0]]),
    ],
)
def test_a_wrong_call_is_refused(drawn, seen):
    with pytest.raises(ValueError):
        agreement_of(drawn, seen)
    with pytest.raises(ValueError, match="0"):
        judged(Agreement(FEATURES, FEATURES[0], 0.1, Unfit("", "")), 0.0)
