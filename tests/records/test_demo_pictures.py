"""The demo's pictures: the same each time, true where they say, small enough, free of the project.

The homographies are checked against what can be seen in the picture: strings, jars and pencil.
"""

import subprocess
import sys
from dataclasses import replace
from datetime import UTC, datetime
from io import BytesIO
from itertools import pairwise

import cv2
import numpy as np
import pytest
from PIL import Image

from fixtures.darkroom import developed
from fixtures.drawing import drawn_sheet
from fixtures.lens import TowerCamera, stand_of
from fixtures.paint import geometric_mm
from fixtures.record_shots import shot_jpeg
from fixtures.seabed import Seabed, seabed
from fixtures.season import season
from fixtures.tower import TOWER_CAMERA, frame_homography, frame_jpeg, frame_rgb

pytestmark = pytest.mark.slow  # a seabed is drawn for each

NOW = datetime(2026, 6, 18, 11, 5, tzinfo=UTC)
EXIF_IFD = 0x8769


@pytest.fixture(scope="module")
def story():
    return season(NOW)


@pytest.fixture(scope="module")
def frame(story):
    """Row 2, station 8: over the string crossing at (7, 1)."""
    frames = story.frames(story.cards[0])
    return next(f for f in frames if (f.row, f.station) == (2, 8))


@pytest.fixture(scope="module")
def rgb(frame):
    return frame_rgb(frame)


@pytest.fixture(scope="module")
def shot(frame):
    """The frame as a JPEG."""
    return frame_jpeg(frame)


@pytest.fixture(scope="module")
def two_squares(story):
    return drawn_sheet(sheet_of(story, "found-R8-S8"), story)


def sheet_of(story, key):
    return next(sheet for sheet in story.sheets if sheet.key == key)


def to_grid(h, u, v):
    return cv2.perspectiveTransform(np.array([[(u, v)]], float), h)[0, 0]


def test_pictures_need_nothing_of_the_project():
    modules = "fixtures.tower, fixtures.drawing, fixtures.record_shots"
    code = (
        f"import sys, {modules};"
        "sys.exit(bool({'django', 'records', 'survey'} & {m.split('.')[0] for m in sys.modules}))"
    )

    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def test_the_seabed_has_no_seams_between_tiles():
    bed, x, y = Seabed("P", "found"), 2.0, 1.7
    across = bed.window(x - 0.3, y, x + 0.3, y + 0.3)
    once = bed.drawn_once(x - 0.3, y, x + 0.3, y + 0.3)
    inner = (slice(80, -80), slice(80, -80))  # what the single window knows less about is its rim

    apart = np.abs(across.rgb[inner].astype(int) - once.rgb[inner].astype(int))
    assert np.percentile(apart, 99) <= 3
    assert np.abs(across.height_mm).max() <= 50


def test_exif_of_a_frame_reads_back(frame, shot):
    exif = Image.open(BytesIO(shot)).getexif()
    inner = exif.get_ifd(EXIF_IFD)

    assert exif[0x0110] == "Pelagia 24"
    assert exif[0x0112] in {1, 3, 6, 8}
    assert inner[0x9003] == f"{frame.taken_at:%Y:%m:%d %H:%M:%S}"
    assert inner[0x9011] == "+01:00"  # summer time at the wreck in June
    assert int(inner[0x9291]) == frame.taken_at.microsecond // 10_000
    assert float(inner[0x829A]) == pytest.approx(1 / 125)
    assert (float(inner[0x829D]), inner[0x8827], float(inner[0x920A])) == (8.0, 400, 24.0)


def test_a_frame_is_under_three_megapixels_and_a_megabyte(shot):
    width, height = Image.open(BytesIO(shot)).size

    assert (width, height) == (2000, 1333)
    assert width * height < 3_000_000
    assert 100_000 < len(shot) < 1_000_000


def test_the_footprint_is_what_the_flat_port_rule_gives(frame):
    """24 mm lens on 36 mm behind a flat port in sea water: 53.200° (Knight; n = 1.34)."""
    level = TowerCamera(tilt_x_deg=0, tilt_y_deg=0, jitter_m=0, jitter_deg=0)
    h = frame_homography(frame, level)
    left, right = to_grid(h, -0.5, 666), to_grid(h, 1999.5, 666)

    assert right[0] - left[0] == pytest.approx(2 * 1.5 * np.tan(np.radians(26.6)), abs=1e-4)
    middle = to_grid(h, 999.5, 666)
    assert middle == pytest.approx([frame.x_m, frame.y_m], abs=1e-6)


def test_strings_cross_where_the_true_homography_says(frame, rgb):
    h = np.linalg.inv(frame_homography(frame))
    for along in (0.12, 0.2, 0.28):  # up the string x = 7, and along y = 1
        for (x, y), axis in (((7.0, 1.0 + along), 0), ((7.0 + along + 0.15, 1.0), 1)):
            u, v = to_grid(h, x, y)
            assert _bright_line_near(rgb, u, v, axis) == pytest.approx((u, v)[axis], abs=4)


def _bright_line_near(rgb, u, v, axis) -> float:
    """Middle of the brightest thin line within 20 px along u (axis 0) or v (axis 1)."""
    cut = (slice(round(v) - 2, round(v) + 3), slice(round(u) - 20, round(u) + 21))
    if axis:
        cut = (slice(round(v) - 20, round(v) + 21), slice(round(u) - 2, round(u) + 3))
    line = rgb[cut].astype(float).sum(axis=2).mean(axis=axis)
    line = np.convolve(line - np.median(line), np.ones(4) / 4, "same")
    return float(np.argmax(line)) - 20 + round((u, v)[axis]) - 0.5


def test_a_jar_mouth_lies_where_its_height_puts_it(story):
    """The mouth stands near 50 mm above the plane, so it is seen away from its plan position."""
    frames = story.frames(story.cards[1])
    frame = next(f for f in frames if (f.row, f.station) == (3, 8))
    x, y, high_m = 7.30, 1.62, float(geometric_mm(np.float32(121))) / 1000
    seen = stand_of(frame, TOWER_CAMERA).projection @ (x, y, high_m, 1)
    u, v = seen[:2] / seen[2]
    flat = to_grid(np.linalg.inv(frame_homography(frame)), x, y)
    low = np.round([u - 130, v - 130]).astype(int)
    here = frame_rgb(frame)[low[1] : low[1] + 260, low[0] : low[0] + 260]
    dark = (here.sum(axis=2) < 130).astype(np.uint8)
    count, _, stats, middles = cv2.connectedComponentsWithStats(dark)
    mouth = middles[1 + np.argmax(stats[1:, cv2.CC_STAT_AREA])] + low

    assert count > 1
    assert np.hypot(*(mouth - (u, v))) < 8
    assert np.hypot(*(flat - (u, v))) > 12


def test_a_tilted_camera_sees_more_where_it_tips_away(frame):
    h = frame_homography(frame, TowerCamera(tilt_x_deg=0.0, tilt_y_deg=-3.0))
    near = to_grid(h, 1999.5, 1332.5) - to_grid(h, -0.5, 1332.5)
    far = to_grid(h, 1999.5, -0.5) - to_grid(h, -0.5, -0.5)

    assert np.hypot(*far) > 1.02 * np.hypot(*near)


def test_spoilt_frames_look_spoilt(story):
    shots = {f.seed: f for card in (story.cards[0], story.cards[2]) for f in story.frames(card)}
    blurred = next(f for f in shots.values() if f.blur)
    dark = next(f for f in shots.values() if f.dark)
    again = shots[blurred.seed + 1]

    assert (again.row, again.station) == (blurred.row, blurred.station)
    assert _detail(frame_jpeg(blurred)) < 0.5 * _detail(frame_jpeg(again))
    grey = np.array(Image.open(BytesIO(frame_jpeg(dark))).convert("L"))
    assert grey.mean() < 45


def _detail(data: bytes) -> float:
    """How much the picture changes from point to point at a quarter of its size, noise averaged."""
    grey = np.array(Image.open(BytesIO(data)).convert("L"))
    small = cv2.resize(grey, None, fx=0.25, fy=0.25, interpolation=cv2.INTER_AREA)
    return float(cv2.Laplacian(small, cv2.CV_32F).var())


def test_corners_of_a_drawing_are_the_corners_of_its_ruled_frame(two_squares):
    drawn = two_squares
    grey = cv2.imdecode(np.frombuffer(drawn.png, np.uint8), cv2.IMREAD_UNCHANGED)

    assert set(drawn.corners) == {"R8", "S8"}
    for corners in drawn.corners.values():
        ring = np.array([*corners, corners[0]])
        sides = np.hypot(*np.diff(ring, axis=0).T)
        assert sides == pytest.approx(100 * 200 / 25.4, rel=1e-6)  # 100 mm at 200 dots an inch
        assert ring[1, 0] > ring[0, 0]  # +x to the right
        assert ring[2, 1] < ring[1, 1]  # +y up the page
        for start, end in pairwise(ring):
            on = start + np.linspace(0.03, 0.97, 200)[:, None] * (end - start)
            assert _dark_near(grey, on, 3).mean() > 0.95


def test_a_drawn_jar_lies_where_the_corners_put_it(two_squares):
    """The hand errs by 5 mm a coordinate, the line trembles: pencil within 20 mm of the jar."""
    drawn = two_squares
    grey = cv2.imdecode(np.frombuffer(drawn.png, np.uint8), cv2.IMREAD_UNCHANGED)
    turns = np.linspace(0, 2 * np.pi, 72, endpoint=False)
    circle = np.stack([np.cos(turns), np.sin(turns)], axis=1)
    reach = round(0.020 * 787)

    mouth = _on_sheet(drawn.corners["S8"], (0.30, 0.62) + 0.066 * circle)
    assert _dark_near(grey, mouth, reach).mean() > 0.95
    body = _on_sheet(drawn.corners["S8"], (0.30, 0.62) + 0.172 * circle)
    assert _dark_near(grey, body, reach).mean() > 0.8
    between = _on_sheet(drawn.corners["S8"], (0.30, 0.62) + 0.125 * circle)
    assert _dark_near(grey, between, reach // 4).mean() < 0.35


def _on_sheet(corners, offsets) -> np.ndarray:
    square = np.array([(0, 0), (1, 0), (1, 1), (0, 1)], np.float32)
    h = cv2.getPerspectiveTransform(square, np.array(corners, np.float32))
    return cv2.perspectiveTransform(np.asarray(offsets, np.float64)[None], h)[0]


def _dark_near(grey, points, reach: int) -> np.ndarray:
    """Whether there is pencil (not string lines, which are paler) within reach of each point."""
    size = 2 * reach + 1
    dark = cv2.dilate((grey < 160).astype(np.uint8), np.ones((size, size), np.uint8))
    u, v = np.round(points).astype(int).T
    return dark[v, u] > 0


def test_the_sheet_sent_back_shows_its_timbers_60_mm_off(story):
    sheet = sheet_of(story, "found-P11")
    straight = replace(sheet, squares=(replace(sheet.squares[0], shifted_m=0.0),))
    true = _pencil(drawn_sheet(straight, story), "P11")
    sent = _pencil(drawn_sheet(sheet, story), "P11")
    inner = (slice(60, 440), slice(60, 440))
    overlap = {
        shift: (np.roll(true, shift, axis=1)[inner] * sent[inner]).sum() for shift in range(-50, 51)
    }

    best = max(overlap, key=overlap.get)
    assert best == pytest.approx(30, abs=3)  # at 2 mm a pixel


def test_half_a_square_is_drawn_on_its_half_only(story):
    pencil = _pencil(drawn_sheet(sheet_of(story, "found-S10"), story), "S10")[12:-12, 12:-12]
    west, east = pencil[:, :220].sum(), pencil[:, -220:].sum()

    assert west > 20 * max(east, 1)


def test_a_sheet_without_a_label_has_nothing_above_its_frame(story):
    sheet = sheet_of(story, "found-M11")
    without, labelled = drawn_sheet(sheet, story), drawn_sheet(replace(sheet, label=True), story)

    assert not sheet.label
    assert _ink_above(without, "M11") < 0.05 * _ink_above(labelled, "M11")


def _ink_above(drawn, label: str) -> int:
    grey = cv2.imdecode(np.frombuffer(drawn.png, np.uint8), cv2.IMREAD_UNCHANGED)
    points = _on_sheet(drawn.corners[label], [(0.02, 1.04), (0.6, 1.22)]).round().astype(int)
    (u0, v0), (u1, v1) = points
    return int((grey[v1:v0, u0:u1] < 160).sum())


def _pencil(drawn, label: str) -> np.ndarray:
    """Dark pencil in the square, rectified to 2 mm a pixel, y up the page; 1 or 0."""
    grey = cv2.imdecode(np.frombuffer(drawn.png, np.uint8), cv2.IMREAD_UNCHANGED)
    square = np.array([(0, 500), (500, 500), (500, 0), (0, 0)], np.float32)
    h = cv2.getPerspectiveTransform(np.array(drawn.corners[label], np.float32), square)
    flat = cv2.warpPerspective(grey, h, (500, 500), flags=cv2.INTER_AREA)
    return cv2.GaussianBlur((flat < 170).astype(np.float32), (0, 0), 1.5)


def test_a_sheet_comes_out_the_same_and_small(story):
    sheet = sheet_of(story, "found-L10")
    first = drawn_sheet(sheet, story)

    assert drawn_sheet(sheet, story).png == first.png
    assert len(first.png) < 1_500_000
    assert Image.open(BytesIO(first.png)).size == (1654, 2339)  # A4 at 200 dots an inch


@pytest.mark.parametrize("key", ["deadeye-shot", "slate-9"])
def test_single_shots_are_made_and_dated_within_their_dive(story, key):
    shot = next(shot for shot in story.record_shots if shot.key == key)
    picture = Image.open(BytesIO(shot_jpeg(shot, story)))
    dive = story.dive(shot.dive)

    assert picture.width * picture.height < 3_000_000
    taken = datetime.strptime(
        picture.getexif().get_ifd(EXIF_IFD)[0x9003] + "+0100", "%Y:%m:%d %H:%M:%S%z"
    )
    assert dive.left_at < taken < dive.reached_at


def test_the_darkroom_makes_in_other_processes_what_is_made_here(story):
    """A few of each kind: the same bytes, under their names."""
    card = replace(story.cards[4], shots=story.cards[4].shots[:1])
    few = replace(
        story, cards=(card,), sheets=story.sheets[:1], record_shots=story.record_shots[-1:]
    )
    told = []
    made = developed(few, 2, lambda done, total: told.append((done, total)))
    (frame,) = few.frames(card)

    assert made.frames == {frame.name: frame_jpeg(frame)}
    assert made.sheets[few.sheets[0].key] == drawn_sheet(few.sheets[0], few)
    assert made.shots == {few.record_shots[0].key: shot_jpeg(few.record_shots[0], few)}
    assert told[-1] == (3, 3)


def test_a_frame_comes_out_the_same_in_a_seabed_drawn_afresh(frame, shot):
    """Last: those before share what the seabed has drawn."""
    assert frame_jpeg(replace(frame, seed=frame.seed + 1)) != shot
    seabed.cache_clear()

    assert frame_jpeg(frame) == shot
