"""What it takes to say which of 60 frames of 12 megapixels are unfit, against decoding them once.

A dozen are decoded and looked at, and their times taken five times; the judging is of all 60. The
frames are looked at in the worker while the card comes in; what is left once it is accepted
needs no picture. Both are told, beside decoding the same files once on two cores.
"""

import io
import os
import sys
import time
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context

import cv2
import numpy as np
import pytest
from PIL import Image

from survey.overlap import PlacedFeatures, compare, features_of, neighbours, unpacked_features
from survey.overlap import packed_features as packed_features_of
from survey.placement import Placement, placement_of_derivative
from survey.quality import PlacedFrame, judge, measure, packed, unpacked
from survey.slips import OnStation, slips
from tests import scenes
from tests.bench.floor import decoded

pytestmark = [pytest.mark.slow, pytest.mark.quiet, pytest.mark.by_hand]

FRAMES, LOOKED_AT, PICTURES, CORES = 60, 12, 2, 2
GOAL = 3.0
SIZE = (4000, 2666)
SCREEN = (1600, 1066)


def looked_at(data: bytes) -> tuple[float, bytes, bytes]:
    """As the worker does, from the picture for the screen: processor time, s, and both packed."""
    began = time.process_time()
    cv2.setNumThreads(1)
    with Image.open(io.BytesIO(data)) as picture:
        pixels = np.asarray(picture.convert("RGB"))
    found = packed(measure(pixels)), packed_features_of(features_of(pixels))
    return time.process_time() - began, *found


def files(run, size):
    grain = np.random.default_rng(3).normal(0, 6, (size[1], size[0], 1))  # dense, as a seabed is
    made = []
    for station in run.stations[:PICTURES]:
        wide = cv2.resize(run.frame(station), size, interpolation=cv2.INTER_CUBIC)
        noisy = np.clip(wide[..., None] + grain + (0, 2, 4), 0, 255).astype(np.uint8)
        out = io.BytesIO()
        Image.fromarray(noisy).save(out, "JPEG", quality=88)
        made.append(out.getvalue())
    return [made[n % PICTURES] for n in range(LOOKED_AT)]


def told(run, said):
    """Judged, compared and put together; of pictures repeated, but as many pairs as a run has."""
    h = [placement_of_derivative(Placement(run.placement(one)), 0.45, 0.45) for one in run.stations]
    frames = [
        PlacedFrame(one.key, unpacked(measured), placement, 0.0)
        for one, placement, (_s, measured, _features) in zip(run.stations, h, said, strict=True)
    ]
    placed = [
        PlacedFeatures(one.key, unpacked_features(features), placement)
        for one, placement, (_s, _measured, features) in zip(run.stations, h, said, strict=True)
    ]
    pairs = neighbours(placed)
    seen = [compare(placed[a], placed[b]) for a, b in pairs]
    stations = [OnStation(one.key, one.row, one.number) for one in run.stations]
    return len(judge(frames)), len(pairs), slips(stations, seen)


def timed(act, *given):
    began, spent = time.perf_counter(), time.process_time()
    found = act(*given)
    return time.perf_counter() - began, time.process_time() - spent, found


def test_opinions_on_sixty_frames_against_decoding_them(capsys):
    run = scenes.Run(71, "structured", rows=4, per_row=FRAMES // 4)
    whole = files(run, SIZE)
    screen = files(run, SCREEN)
    with ProcessPoolExecutor(CORES, mp_context=get_context("spawn")) as pool:
        list(pool.map(looked_at, screen[:CORES]))  # awake before the clock starts
        decoding_s, _cpu, decodings = timed(lambda: list(pool.map(decoded, whole)))
        looking_s, _cpu, looks = timed(lambda: list(pool.map(looked_at, screen)))
    more = FRAMES / LOOKED_AT
    decoding_s, looking_s = decoding_s * more, looking_s * more
    decoding_cpu_s, looking_cpu_s = sum(decodings) * more, sum(one[0] for one in looks) * more
    judging_s, judging_cpu_s, (judged, pairs, _seen) = timed(told, run, looks * round(more))
    with capsys.disabled():
        sys.stdout.write(
            f"\nOpinions on {judged} frames of {SIZE[0] * SIZE[1] / 1e6:.0f} megapixels, {pairs} "
            f"pairs: decoding once on {CORES} cores {decoding_s:.1f} s; looking at them while the "
            f"card comes in {looking_s:.1f} s; from there to the verdict {judging_s:.1f} s, ratio "
            f"{judging_s / decoding_s:.2f}; all of it, ratio "
            f"{(looking_s + judging_s) / decoding_s:.2f} (goal {GOAL}); in processor time "
            f"{judging_cpu_s / decoding_cpu_s:.2f} and "
            f"{(looking_cpu_s + judging_cpu_s) / decoding_cpu_s:.2f}; "
            f"load {os.getloadavg()[0]:.1f}\n"
        )
    assert judging_cpu_s < GOAL * decoding_cpu_s
