"""A set-up's lens: from the board or from marks, kept as a version that frames are laid with.

Views of the board are seen through OpenCV's `projectPoints`, with a term in r⁶ that no solver here
has; corners stand in the record as the worker would have written them.
"""

from io import BytesIO
from uuid import uuid4

import cv2
import numpy as np
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image

from records.archive.tower_prints import board_of
from records.archive.typeset import compiled
from records.intake.calibrating import board_told, marks_told
from records.intake.corners import BOARD, VERSIONS
from records.intake.pictures import bring_in_picture
from records.intake.windows import GridWindow, PieceOf, draw, open_window
from records.jobs import _claim, perform
from records.models import (
    BoardPicture,
    Job,
    JobState,
    Lens,
    LensFrom,
    PictureCorners,
    PlacedBy,
    Placement,
    Role,
)
from records.refusals import Refused
from records.verbs.lenses import LensEntry, add_board_picture, keep_lens, leave_out_board_picture
from records.verbs.placing import MarkEntry, place_frame_by_marks, placed_by_station
from records.verbs.set_up_versions import BaseEntry, place_set_up_by_marks
from records.verbs.tower import RowEntry
from survey.calibration_board import Board
from survey.placement import covered_outline, to_plane
from tests.factory import make_goal, make_grid, make_member, make_square, make_stage
from tests.factory_pictures import (
    make_card,
    make_frame,
    make_picture,
    make_run,
    make_stored_file,
    make_tower_set_up,
)

W, H = 1500, 1000
CAMERA = np.array([[1400.0, 0, 752.0], [0, 1400.0, 496.0], [0, 0, 1]])
BENT = np.array([-0.14, 0.03, 0, 0, 0.005])
# Of the board, m from the lens: across, down, away; turned about x and y, radians.
POSES = [
    (-0.12, -0.08, 0.5, 0.0, 0.0),
    (-0.3, -0.2, 0.55, 0.4, -0.3),
    (0.06, -0.2, 0.55, 0.35, 0.4),
    (-0.3, 0.03, 0.55, -0.4, -0.4),
    (0.07, 0.04, 0.55, -0.45, 0.35),
    (-0.1, -0.05, 0.45, 0.5, 0.0),
    (-0.12, -0.1, 0.5, 0.0, 0.5),
    (-0.33, -0.22, 0.6, -0.2, 0.2),
    (0.1, 0.05, 0.6, 0.2, -0.2),
]


@pytest.fixture
def lead(client, season):
    client.force_login(make_member(season.site, Role.LEAD).account)
    return client


@pytest.fixture
def set_up(season):
    return make_tower_set_up(season)


def seen_through(points):
    return cv2.projectPoints(points, np.zeros(3), np.zeros(3), CAMERA, BENT)[0][:, 0]


def bring_in(season, set_up, poses=POSES, sigma_px=0.15):
    """Pictures of the board whose corners the worker has found, with this noise."""
    rng, corners = np.random.default_rng(7), Board().corners_mm() / 1000
    for x, y, away, about_x, about_y in poses:
        file = make_stored_file(width_px=W, height_px=H)
        turn = cv2.Rodrigues(np.array([about_x, about_y, 0.0]))[0]
        space = np.column_stack([corners, np.zeros(54)]) @ turn.T + (x, y, away)
        seen = seen_through(space) + rng.normal(0, sigma_px, (54, 2))
        inside = ((seen > 0) & (seen < (W - 1, H - 1))).all(axis=1)
        found = [[n, *seen[n].tolist()] for n in np.flatnonzero(inside).tolist()]
        PictureCorners.objects.create(
            file=file, orientation=1, sheet=BOARD, recipe_version=VERSIONS[BOARD], found=found
        )
        add_board_picture(season, set_up, make_picture(season.site, file=file), uuid4())


def base(height_m=1.4):
    """Points of a base straight below the camera, and where they are seen."""
    x, y = np.meshgrid(np.linspace(-0.6, 0.6, 5), np.linspace(-0.4, 0.4, 3))
    plane = np.column_stack([x.ravel(), y.ravel()])
    space = np.column_stack([plane[:, 0], -plane[:, 1], np.full(len(plane), height_m)])
    return plane, seen_through(space)


def mark_base(season, set_up, picture=None):
    plane, seen = base()
    picture = picture or make_picture(season.site, file=make_stored_file(width_px=W, height_px=H))
    marks = [MarkEntry(*at, *lies) for at, lies in zip(seen.tolist(), plane.tolist(), strict=True)]
    return place_set_up_by_marks(season, set_up, BaseEntry(picture, 1.2, 0.8, marks), uuid4())


def entry(source=LensFrom.BOARD, **said):
    return LensEntry("24 mm, flat port", source, **said)


def test_the_board_gives_a_lens_that_lays_the_base_to_a_fraction_of_a_millimetre(season, set_up):
    former = mark_base(season, set_up)
    bring_in(season, set_up)
    told = board_told(set_up)
    assert not told.is_waiting
    assert all(one.off_px is not None and one.off_px < 0.4 for one in told.pictures)
    assert "9 pictures of the board agree" in told.found.words[0]

    lens = keep_lens(season, set_up, entry(), key := uuid4())

    assert keep_lens(season, set_up, entry(), key) == lens  # sent twice
    set_up.refresh_from_db()
    placed = set_up.placement
    assert (placed.lens, set_up.lens) == (lens, lens)
    assert (placed.method, placed.marks.count()) == (PlacedBy.MARKS, 15)
    assert placed.rms_px < 0.5 < 3.0 < former.rms_px
    plane, seen = base()
    off_mm = 1000 * np.linalg.norm(to_plane(placed.as_value, seen) - plane, axis=1)
    bent_mm = 1000 * np.linalg.norm(to_plane(former.as_value, seen) - plane, axis=1)
    assert off_mm.max() < 1.0 < 4.0 < bent_mm.max()
    assert lens.distortion["k1"] == pytest.approx(-0.14, abs=0.01)
    assert board_told(set_up).pictures == []  # the next lens begins with none
    assert BoardPicture.objects.filter(lens=lens).count() == len(POSES)


def test_frames_keep_their_lens_until_they_are_laid_anew(season, set_up):
    grid, stage = make_grid(season.site), make_stage(season)
    for column in range(3):
        make_goal(stage, make_square(grid, column))
    run = make_run(season, grid=grid, stage=stage, set_up=set_up)
    frame = make_frame(make_card(run), 1)
    bring_in(season, set_up)
    before = frame.placement

    keep_lens(season, set_up, entry(), uuid4())
    frame.refresh_from_db()
    assert frame.placement == before
    assert before.lens is None

    second = make_frame(make_card(run), 2)
    assert second.placement.lens == set_up.placement.lens
    outline = covered_outline(second.placement.as_value, W, H)
    assert len(outline) == 48  # a bent edge
    assert np.ptp(outline[:, 0]) > 1.5  # the corners reach farther than the sides' middles

    keep = entry(lay_anew=True)
    bring_in(season, set_up)
    keep_lens(season, set_up, keep, uuid4())
    frame.refresh_from_db()
    assert frame.placement.lens == set_up.placement.lens
    grid_m, seen = base()
    marks = [
        MarkEntry(*at, x + 1.5, y + 0.5)
        for at, (x, y) in zip(seen.tolist(), grid_m.tolist(), strict=True)
    ]
    second.refresh_from_db()
    moved = place_frame_by_marks(second, marks, second.version)
    assert moved.placement.lens == set_up.placement.lens
    assert moved.placement.rms_px < 0.5


def test_a_window_of_a_frame_is_drawn_through_its_lens(season, set_up):
    """A disc on the ground, seen near the picture's corner: without the lens it would stand about a
    centimetre beside its place. The picture is decoded at half its size for the window."""
    at_m = np.array([0.55, 0.4])
    u, v = seen_through(np.array([[at_m[0], -at_m[1], 1.4]]))[0]
    fine = np.full((4 * H, 4 * W), 240, np.uint8)
    centre = tuple(round(4 * one + 1.5) for one in (u, v))
    cv2.circle(fine, centre, 40, 15, -1)
    data = cv2.imencode(".jpg", cv2.resize(fine, (W, H), interpolation=cv2.INTER_AREA))[1]
    picture = bring_in_picture(season, BytesIO(data.tobytes()), "disc.jpg", size_bytes=len(data))
    bring_in(season, set_up)
    keep_lens(season, set_up, entry(), uuid4())
    mark_base(season, set_up, picture)
    run = make_run(season, RowEntry(0.5, 0.5, 0.0, 1.0, 3), set_up=set_up)
    placed = placed_by_station(picture, run.rows.get(), 1)
    corner_m = np.array([0.5, 0.5]) + at_m
    box = (corner_m[0] - 0.05, corner_m[1] - 0.05, corner_m[0] + 0.05, corner_m[1] + 0.05)

    window = GridWindow((PieceOf(placed.pk),), box, 2.5)
    draw(window)
    drawn = np.asarray(Image.open(open_window(window)).convert("L")).astype(float)
    dark = np.where(drawn < 200, 255 - drawn, 0)
    rows, columns = np.indices(dark.shape) + 0.5
    off_px = [(one * dark).sum() / dark.sum() - 20 for one in (rows, columns)]
    assert np.hypot(*off_px) * 2.5 < 2.0  # mm
    straight = Placement.objects.create(
        picture=picture, grid=run.grid, h=placed.h, width_px=W, height_px=H, method="marks"
    )
    without = to_plane(straight.as_value, [u, v])
    assert np.linalg.norm(without - corner_m) > 0.008


def test_what_does_not_give_a_lens_says_why(season, set_up, lead):
    page = reverse("set_up_lens", args=[season.code, set_up.pk])
    assert "Four corners alone cannot tell" in lead.get(page).text
    with pytest.raises(Refused, match="Bring in pictures"):
        keep_lens(season, set_up, entry(), uuid4())
    bring_in(season, set_up, POSES[:3])
    assert "better ten; there are 3" in lead.get(page).text
    with pytest.raises(Refused, match="better ten"):
        keep_lens(season, set_up, entry(), uuid4())
    bring_in(season, set_up, [POSES[0], POSES[5], POSES[6]])
    assert "two more pictures" in lead.get(page).text
    assert Lens.objects.count() == 0


def test_marks_at_several_distances_give_a_lens_and_four_do_not(season, set_up):
    picture = make_picture(season.site, file=make_stored_file(width_px=W, height_px=H))
    assert "not marked yet" in marks_told(set_up)
    plane, seen = base()
    four = [MarkEntry(*seen[n].tolist(), *plane[n].tolist()) for n in (0, 4, 14, 10)]
    place_set_up_by_marks(season, set_up, BaseEntry(picture, 1.2, 0.8, four), uuid4())
    assert "Four corners alone cannot tell" in marks_told(set_up)
    with pytest.raises(Refused, match="Four corners"):
        keep_lens(season, set_up, entry(LensFrom.MARKS), uuid4())

    mark_base(season, set_up)
    lens = keep_lens(season, set_up, entry(LensFrom.MARKS), uuid4())

    assert set_up.placement.lens == lens
    assert set_up.placement.rms_px < 1.0
    assert set_up.placement.degrees_of_freedom == 22


def test_a_typed_footprint_is_what_the_middles_of_the_sides_show(season, set_up):
    bring_in(season, set_up)
    keep_lens(season, set_up, entry(), uuid4())

    placed = set_up.placement
    sides = to_plane(placed.as_value, [[-0.5, 499.5], [1499.5, 499.5], [749.5, -0.5]])
    assert placed.method == PlacedBy.FOOTPRINT
    assert sides[:, 0] == pytest.approx([-0.75, 0.75, 0.0], abs=0.002)
    assert sides[2, 1] == pytest.approx(0.5, abs=1e-6)


def test_a_lead_brings_pictures_in_and_keeps_the_lens(
    season, set_up, lead, django_capture_on_commit_callbacks
):
    printed = compiled("board.typ", board_of(), format="png", ppi=100)[1]
    board = cv2.imdecode(np.frombuffer(printed, np.uint8), cv2.IMREAD_GRAYSCALE)
    board = cv2.copyMakeBorder(board, 0, H - board.shape[0], 0, W - board.shape[1], 0, value=99)
    files = [
        SimpleUploadedFile("board.png", cv2.imencode(".png", board)[1].tobytes()),
        SimpleUploadedFile("sand.png", cv2.imencode(".png", 0 * board + 90)[1].tobytes()),
        SimpleUploadedFile("other.png", cv2.imencode(".png", board[:500])[1].tobytes()),
    ]
    page = reverse("set_up_lens", args=[season.code, set_up.pk])
    with django_capture_on_commit_callbacks(execute=True):
        answer = lead.post(
            reverse("board_pictures", args=[season.code, set_up.pk]),
            {"pictures": files},
            follow=True,
        )
    assert "other.png: other.png has 1500 × 500 px" in answer.text
    assert "being looked for in its pictures" in answer.text
    for job in Job.objects.filter(state=JobState.WAITING):
        perform(_claim(str(job.pk)))
    shown = lead.get(page).text
    assert "54 corners of the board were found" in shown
    assert "No board is seen in it" in shown

    sand = BoardPicture.objects.get(picture__original_name="sand.png")
    out = reverse("board_picture_out", args=[season.code, set_up.pk, sand.pk])
    assert lead.post(out, {"reason": "No board in it."}).status_code == 303
    bring_in(season, set_up)
    shown = lead.get(page).text
    assert "10 pictures of the board agree" in shown
    assert "No board is seen" not in shown
    sent = {"id": str(uuid4()), "name": "24 mm", "found_from": "board", "begins": "first"}
    answer = lead.post(page, sent)
    assert answer.status_code == 303
    told = lead.get(answer.url).text
    assert "Through the lens 24 mm." in told
    assert "Found from pictures of the printed board" in told
    with pytest.raises(Refused, match="stays with it"):
        leave_out_board_picture(season, BoardPicture.objects.exclude(lens=None)[0], "Blurred.")
