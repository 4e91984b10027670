"""A tower set-up placed by its base: the marks, the versions, and which frames take which."""

import datetime
from dataclasses import replace
from types import SimpleNamespace
from uuid import uuid4

import numpy as np
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import timezone

from records.models import Frame, Picture, PlacedBy, Placement, Role, SquareCoverage, TowerSetUp
from records.queries.set_ups import laid_anew_words, versions_told
from records.refusals import Refused
from records.verbs.acceptance import accept_card
from records.verbs.placing import MarkEntry
from records.verbs.set_up_versions import BaseEntry, place_set_up_by_marks, void_set_up_version
from survey.placement import to_plane
from tests import made_files
from tests.factory import make_goal, make_grid, make_member, make_season, make_square, make_stage
from tests.factory_cards import (
    FIRST_SHOT,
    HEIGHT,
    WIDTH,
    arrive_all,
    begun_card,
    run_of_small_frames,
)
from tests.factory_pictures import (
    make_picture,
    make_stored_file,
    make_tower_set_up,
    set_up_entry,
)

# Computed with OpenCV, scikit-image and Heckbert's closed form, which agree to nine digits
# (as in tests/survey/test_marks.py): a frame 1000 mm square, clockwise from the upper left.
WORKED_PX = [(412, 318), (2610, 275), (2785, 2402), (333, 2530)]
WORKED_M = [(-0.5, 0.5), (0.5, 0.5), (0.5, -0.5), (-0.5, -0.5)]


def marks(px, metres) -> list[MarkEntry]:
    return [MarkEntry(*seen, *lies) for seen, lies in zip(px, metres, strict=True)]


def big_set_up(season) -> TowerSetUp:
    return make_tower_set_up(season, picture_width_px=3000, picture_height_px=2700)


def big_picture(season) -> Picture:
    return make_picture(season.site, file=make_stored_file(width_px=3000, height_px=2700))


def test_the_worked_base_places_the_set_up(season):
    set_up = big_set_up(season)
    entry = BaseEntry(big_picture(season), 1.0, 1.0, marks(WORKED_PX, WORKED_M))

    placed = place_set_up_by_marks(season, set_up, entry, key := uuid4())

    x_m, y_m = to_plane(placed.as_value, [1500, 1400])
    assert (x_m, y_m) == pytest.approx((0.4760344 - 0.5, 0.5 - 0.5355300), abs=5e-8)
    assert set_up.placement == placed
    assert (placed.degrees_of_freedom, placed.rms_px, placed.sigma_px) == (0, None, None)
    assert "prove nothing" in versions_told(set_up)[0].fit
    assert place_set_up_by_marks(season, set_up, entry, key) == placed  # sent twice
    assert TowerSetUp.objects.get().base_x_m == 1.0


def test_the_uncertainty_told_is_that_of_the_clicks(season):
    """σ = 2 px on eight marks: σ̂² = vᵀv/(2n − 8), here 8 degrees of freedom."""
    set_up, rng = big_set_up(season), np.random.default_rng(5)
    base = [(x, y) for x in (-0.5, 0.0, 0.5) for y in (-0.5, 0.0, 0.5) if (x, y) != (0.0, 0.0)]
    true = [(1500 + 2000 * x, 1350 - 2000 * y) for x, y in base]
    found = []
    for _trial in range(20):
        seen = [tuple(one) for one in np.array(true) + rng.normal(0, 2.0, (8, 2))]
        entry = BaseEntry(big_picture(season), 1.0, 1.0, marks(seen, base))
        found.append(place_set_up_by_marks(season, set_up, entry, uuid4()))

    rms_sigma_px = np.sqrt(np.mean([one.sigma_px**2 for one in found]))
    assert rms_sigma_px == pytest.approx(2.0, rel=0.2)
    told = versions_told(set_up)[0]
    assert "8 points agree within" in told.fit
    assert "8 degrees of freedom" in told.fit
    assert all(mark.off_mm for mark in told.marks)


def small_base(season, shift_m: float = 0.0) -> BaseEntry:
    """The whole picture is a base of 1.5 × 1 m, its middle `shift_m` to the right of the truth."""
    file = make_stored_file(width_px=WIDTH, height_px=HEIGHT)
    px = [(-0.5, HEIGHT - 0.5), (WIDTH - 0.5, HEIGHT - 0.5), (WIDTH - 0.5, -0.5), (-0.5, -0.5)]
    metres = [
        (x * 1.5 + shift_m, y) for x, y in [(-0.5, -0.5), (0.5, -0.5), (0.5, 0.5), (-0.5, 0.5)]
    ]
    return BaseEntry(make_picture(season.site, file=file), 1.5, 1.0, marks(px, metres))


def at(season, minutes: float) -> datetime.datetime:
    """So many minutes after the card's first shot, by the season's clocks."""
    return (FIRST_SHOT + datetime.timedelta(minutes=minutes)).replace(tzinfo=season.tz)


@pytest.fixture
def surface(season):
    """Four squares in a row with a goal in one stage."""
    grid, stage = make_grid(season.site), make_stage(season)
    for column in range(4):
        make_goal(stage, make_square(grid, column))
    return grid, stage


def left_edges(card) -> list[float]:
    frames = Frame.objects.filter(card=card).order_by("station").select_related("placement")
    return [round(float(to_plane(one.placement.as_value, [-0.5, 0])[0]), 3) for one in frames]


def test_frames_take_the_version_in_force_when_they_were_taken(season, surface, monkeypatch):
    grid, stage = surface
    run = run_of_small_frames(season, grid=grid, stage=stage)  # stations at x 0.5, 1.5, 2.5
    clock = SimpleNamespace(now=lambda: at(season, 600))
    monkeypatch.setattr("records.verbs.set_up_versions.timezone", clock)
    moved = small_base(season, shift_m=0.1)
    begin = at(season, 1)  # frames are 37 s apart: the third comes after it
    later = replace(moved, valid_from=begin)
    place_set_up_by_marks(season, run.set_up, later, uuid4())
    first = begun_card(run)
    arrive_all(first, 3)

    accept_card(first)

    assert left_edges(first) == [-0.25, 0.75, 1.85]


def test_the_camera_s_clock_is_corrected_before_the_version_is_chosen(season, surface, monkeypatch):
    grid, stage = surface
    run = run_of_small_frames(season, grid=grid, stage=stage)
    clock = SimpleNamespace(now=lambda: at(season, 600))
    monkeypatch.setattr("records.verbs.set_up_versions.timezone", clock)
    moved = small_base(season, shift_m=0.1)
    later = replace(moved, valid_from=at(season, 1))
    place_set_up_by_marks(season, run.set_up, later, uuid4())
    fast = begun_card(run, clock_offset_s=60.0)  # all three were taken before the change
    arrive_all(fast, 3)

    accept_card(fast)

    assert left_edges(fast) == [-0.25, 0.75, 1.75]


def test_accepted_frames_keep_their_place_unless_they_are_laid_anew(season, surface):
    grid, stage = surface
    run = run_of_small_frames(season, grid=grid, stage=stage)
    card = begun_card(run)
    arrive_all(card, 3)
    accept_card(card)
    before = left_edges(card)
    base = small_base(season, shift_m=0.3)

    kept = place_set_up_by_marks(season, run.set_up, base, uuid4())
    assert left_edges(card) == before
    anew = replace(base, lay_anew=True)
    placed = place_set_up_by_marks(season, run.set_up, anew, uuid4())

    assert laid_anew_words(placed) == "3 accepted frames were laid anew."
    assert left_edges(card) == pytest.approx([one + 0.3 for one in before])
    frame = Frame.objects.get(card=card, station=1)
    assert frame.placement.method == PlacedBy.STATION
    assert frame.version == 2
    # the first square now begins to be covered at x = 0.05
    covered = SquareCoverage.objects.get(stage=stage, square__column=0)
    assert covered.fraction == pytest.approx(0.95)
    assert Placement.objects.filter(picture=frame.photograph.picture).count() == 2
    assert [one.is_replaced for one in versions_told(run.set_up)] == [False, True, True]
    assert kept in run.set_up.versions()


def test_a_version_may_be_void_while_one_holds_from_the_beginning(season):
    set_up = make_tower_set_up(season, picture_width_px=WIDTH, picture_height_px=HEIGHT)
    with pytest.raises(Refused, match="beginning of its use"):
        void_set_up_version(season, set_up.placement, "a slip")
    wrong = place_set_up_by_marks(season, set_up, small_base(season, 0.2), uuid4())

    void_set_up_version(season, wrong, "Left and right taken for one another.")

    assert set_up.placement.method == PlacedBy.FOOTPRINT


def test_what_cannot_be_a_version_is_refused_in_words(season):
    set_up = make_tower_set_up(season, picture_width_px=WIDTH, picture_height_px=HEIGHT)
    base = small_base(season)
    ahead = timezone.now() + datetime.timedelta(hours=1)
    theirs = TowerSetUp.objects.create(site=make_season().site, **vars(set_up_entry()))
    cases = [
        ("still to come", set_up, replace(base, valid_from=ahead)),
        ("3000 × 2700", set_up, replace(base, picture=big_picture(season))),
        ("another site", theirs, base),
    ]

    for words, of, entry in cases:
        with pytest.raises(Refused, match=words):
            place_set_up_by_marks(season, of, entry, uuid4())
    assert set_up.placements.count() == 1


def posted(**said) -> dict[str, str]:
    return {
        "id": str(uuid4()),
        "width_cm": "150",
        "depth_cm": "100",
        "begins": "first",
        "points-TOTAL_FORMS": "12",
        "points-INITIAL_FORMS": "0",
        **{f"c0_{axis}": value for axis, value in zip("uv", ("-0.5", "47.5"), strict=True)},
        **{f"c1_{axis}": value for axis, value in zip("uv", ("71.5", "47.5"), strict=True)},
        **{f"c2_{axis}": value for axis, value in zip("uv", ("71.5", "-0.5"), strict=True)},
        **{f"c3_{axis}": value for axis, value in zip("uv", ("-0.5", "-0.5"), strict=True)},
        **said,
    }


def test_a_lead_marks_the_base_in_numbers_on_a_file_brought_for_it(season, client):
    set_up = make_tower_set_up(season, picture_width_px=WIDTH, picture_height_px=HEIGHT)
    client.force_login(make_member(season.site, Role.LEAD).account)
    overview = reverse("set_ups", args=[season.code])
    assert "base not marked yet" in client.get(overview).content.decode()
    page = reverse("set_up_base", args=[season.code, set_up.pk])
    assert "No frame of this set-up" in client.get(page).content.decode()
    large = SimpleUploadedFile("large.JPG", made_files.jpeg(2 * WIDTH, HEIGHT))
    assert "the set-up has 72 × 48 px" in client.post(page, {"file": large}).content.decode()
    file = SimpleUploadedFile("base.JPG", made_files.jpeg(WIDTH, HEIGHT))
    answer = client.post(page, {"file": file})
    desk = answer["Location"]
    assert "Still to be marked" in client.post(desk, posted(c3_u="", c3_v="")).content.decode()
    lost = client.post(desk, posted(**{"points-0-u": "3", "points-0-v": "4"}))
    assert "from the base&#x27;s middle" in lost.content.decode()
    whole = posted(
        **{
            "begins": "time",
            "begins_on": "2031-06-01",
            "begins_at": "08:30",
            "points-0-name": "middle",
            "points-0-x_cm": "0",
            "points-0-y_cm": "0",
            "points-0-u": "35,5",
            "points-0-v": "23,5",
        }
    )
    future = client.post(desk, whole)
    assert "still to come" in future.content.decode()
    done = client.post(desk, whole | {"begins_on": "2021-06-01"})

    assert done.status_code == 303
    placed = set_up.placement
    assert season.local(placed.valid_from).isoformat()[:16] == "2021-06-01T08:30"
    assert placed.marks.count() == 5
    assert placed.rms_px == pytest.approx(0, abs=1e-6)
    shown = client.get(done["Location"]).content.decode()
    assert "From 1 June 2021, 08:30" in shown
    assert "base not marked yet" not in client.get(overview).content.decode()
    again = client.get(desk).content.decode()
    assert 'value="71.5"' in again
    assert 'value="middle"' in again
