"""What neighbours show in common, against scenes of known truth and phase correlation.

Recall and precision of slips over twenty seeds are in tests/bench/test_overlap_bench.py.
"""

from functools import cache

import cv2
import numpy as np
import pytest
from skimage.registration import phase_cross_correlation

from survey.overlap import (
    Decision,
    Features,
    PlacedFeatures,
    compare,
    features_of,
    neighbours,
    packed_features,
    unpacked_features,
)
from survey.placement import Placement
from tests import scenes

SEED = 51
STILL = {"foot_jitter_m": 0.0, "lean_jitter_deg": 0.0, "turn_jitter_deg": 0.0}


@cache
def pair(slip=(0.0, 0.0), ground="structured", **given):
    run = scenes.Run(SEED, ground, rows=1, per_row=2, slips={"1/2": slip}, **(STILL | given))
    pictures = [run.frame(one) for one in run.stations]
    frames = [
        PlacedFeatures(one.key, features_of(picture), Placement(run.placement(one)))
        for one, picture in zip(run.stations, pictures, strict=True)
    ]
    return run, pictures, frames


def by_phase_correlation(run, pictures, mm=2.0):
    """The offset of the second frame by scikit-image, on what both show, drawn at 2 mm a pixel."""
    left, right = run.stations[0].x_m + 0.2, run.stations[1].x_m - 0.2
    bottom, top = run.stations[0].y_m - 0.35, run.stations[0].y_m + 0.35
    size = round((right - left) * 1000 / mm), round((top - bottom) * 1000 / mm)
    to_grid = np.array([[mm / 1000, 0, left], [0, -mm / 1000, top], [0, 0, 1]])
    drawn = []
    for station, picture in zip(run.stations, pictures, strict=True):
        h = np.linalg.inv(np.array(run.placement(station)).reshape(3, 3)) @ to_grid
        seen = cv2.warpPerspective(picture, h, size, flags=cv2.WARP_INVERSE_MAP)
        drawn.append(seen - cv2.GaussianBlur(seen.astype(np.float32), (0, 0), 15))
    (v, u), _error, _phase = phase_cross_correlation(*drawn, upsample_factor=10)
    return u * mm / 1000, -v * mm / 1000


@pytest.mark.parametrize("slip", [(0.0, 0.0), (0.03, -0.02)])
def test_the_offset_is_the_slip_and_what_phase_correlation_finds(slip):
    run, pictures, frames = pair(slip)
    seen = compare(*frames)

    assert (seen.offset_x_m, seen.offset_y_m) == pytest.approx(slip, abs=0.005)
    reference = by_phase_correlation(run, pictures)
    assert (seen.offset_x_m, seen.offset_y_m) == pytest.approx(reference, abs=0.004)
    assert seen.decision == (Decision.SLIPPED if any(slip) else Decision.AGREES)
    assert seen.matches > 30
    assert seen.spread_m < 0.004


def test_a_turned_tower_shows_its_turn():
    run, _pictures, frames = pair(turn_jitter_deg=2.0)
    turns = [run.stand(one).turn_deg for one in run.stations]

    assert compare(*frames).rotation_deg == pytest.approx(turns[1] - turns[0], abs=0.15)


def test_the_other_way_round_it_is_the_opposite():
    _run, _pictures, (one, other) = pair((0.03, -0.02))
    there, back = compare(one, other), compare(other, one)

    assert back.offset_x_m == pytest.approx(-there.offset_x_m, abs=0.003)
    assert back.offset_y_m == pytest.approx(-there.offset_y_m, abs=0.003)


def test_bare_ground_says_why_it_cannot_be_told():
    flat = np.full((480, 720), 120, np.uint8)
    _run, _pictures, (one, other) = pair()
    bare = PlacedFeatures(other.key, features_of(flat), other.placement)

    seen = compare(one, bare)

    assert seen.decision is Decision.UNTOLD
    assert seen.unfit.code == "few-features"
    assert "1/1" in str(seen.unfit)


def test_pictures_of_two_places_do_not_agree():
    _run, _pictures, (one, other) = pair()
    elsewhere = scenes.Run(SEED + 1, "structured", rows=1, per_row=2, **STILL)
    stranger = features_of(elsewhere.frame(elsewhere.stations[1]))

    seen = compare(one, PlacedFeatures("x", stranger, other.placement))

    assert seen.unfit.code == "few-matches"


def test_a_pattern_that_repeats_is_left_in_doubt():
    """A bed of ripples and the like: one patch of 12 cm over and over, seen twice with noise."""
    rng = np.random.default_rng(1)
    cell = rng.integers(0, 255, (12, 12)).astype(np.float32)
    tile = cv2.resize(cell, (59, 59), interpolation=cv2.INTER_CUBIC).clip(0, 255)
    tiled = np.tile(tile, (10, 14))
    _run, _pictures, frames = pair()
    seen = []
    for frame, shift in zip(frames, ((10.3, 8.9), (27.6, 31.2)), strict=True):
        moved = np.array([[1.0, 0.0, -shift[0]], [0.0, 1.0, -shift[1]]])
        picture = cv2.warpAffine(tiled, moved, (720, 480)) + rng.normal(0, 5, (480, 720))
        features = features_of(picture.clip(0, 255).astype(np.uint8))
        seen.append(PlacedFeatures(frame.key, features, frame.placement))

    assert compare(*seen).unfit.code == "repeating"


def test_features_come_back_from_their_bytes():
    _run, pictures, _frames = pair()
    features = features_of(cv2.resize(pictures[0], (1600, 1067)))
    again = unpacked_features(packed_features(features))

    assert 200 < len(features.points) <= 400
    assert features.points[:, 0].max() > 1000  # px of the picture as it came
    assert len(packed_features(features)) < 56_000
    assert (again.width_px, again.height_px) == (1600, 1067)
    assert (again.points == features.points).all()
    assert (again.descriptors == features.descriptors).all()


def test_only_frames_that_overlap_are_neighbours():
    empty = Features(np.zeros((0, 2), np.float32), np.zeros((0, 128), np.uint8), 720, 480)
    run = scenes.Run(SEED, rows=2, per_row=3)
    frames = [PlacedFeatures(one.key, empty, Placement(run.placement(one))) for one in run.stations]
    keys = {(frames[a].key, frames[b].key) for a, b in neighbours(frames)}

    assert ("1/1", "1/2") in keys
    assert ("1/1", "1/3") not in keys
    assert ("1/1", "2/3") in keys  # the second row comes back
    assert neighbours([]) == []


def test_wrong_calls_are_refused():
    with pytest.raises(ValueError, match="uint8"):
        features_of(np.zeros((480, 720), np.float32))
    with pytest.raises(ValueError, match="9 bytes"):
        unpacked_features(b"123456789")
