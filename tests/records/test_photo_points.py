"""Photographs without a tower: placed by known points, counted together with tower frames."""

from uuid import uuid4

import pytest
from django.core.exceptions import PermissionDenied
from django.db import IntegrityError, transaction
from django.urls import reverse

from records.acting import acting_as
from records.intake.run_verdict import verdict_of
from records.models import Frame, Role, SquareCoverage
from records.queries.known_points import KnownPoints
from records.refusals import Refused, Stale
from records.verbs.coverage import recount
from records.verbs.find_entry import FixEntry
from records.verbs.fixes import fix_by_offsets
from records.verbs.frames import leave_out_frame, use_frame
from records.verbs.photographs import PhotographEntry, edit_photograph, void_photograph
from records.verbs.placing import (
    MarkEntry,
    PointsEntry,
    place_frame_by_marks,
    place_photograph_by_marks,
)
from tests.factory import (
    make_find,
    make_goal,
    make_grid,
    make_member,
    make_square,
    make_stage,
)
from tests.factory_pictures import make_card, make_frame, make_photograph, make_run

WIDE, HIGH = 1500, 1000  # px of the made pictures


@pytest.fixture
def surface(season):
    """K7, L7, M7: a grid of three squares in a row, with a goal in one stage."""
    grid = make_grid(season.site, first_column="K", first_row="7")
    stage = make_stage(season)
    squares = [make_square(grid, column) for column in range(3)]
    for square in squares:
        make_goal(stage, square)
    return grid, stage, squares


def corners(left_m: float, right_m: float, bottom_m: float = 0.0, top_m: float = 1.0):
    """A picture that shows just this of the grid."""
    seen = [(-0.5, HIGH - 0.5), (WIDE - 0.5, HIGH - 0.5), (WIDE - 0.5, -0.5), (-0.5, -0.5)]
    lies = [(left_m, bottom_m), (right_m, bottom_m), (right_m, top_m), (left_m, top_m)]
    return [MarkEntry(*px, *metres) for px, metres in zip(seen, lies, strict=True)]


def share(stage, square) -> float:
    return SquareCoverage.objects.get(stage=stage, square=square).fraction


def test_it_counts_together_with_tower_frames(season, surface):
    grid, stage, (first, second, third) = surface
    card = make_card(make_run(season, stage=stage, grid=grid))
    make_frame(card, 1)  # x from −0.25 to 1.25
    assert share(stage, second) == pytest.approx(0.25)
    shot = make_photograph(season)

    entry = PointsEntry(grid, stage, corners(1.0, 2.5))
    frame = place_photograph_by_marks(shot, entry, key := uuid4())

    assert [share(stage, one) for one in (first, second, third)] == pytest.approx([1, 1, 0.5])
    assert (frame.card, frame.row, frame.is_kept) == (None, None, True)
    assert frame.photograph.stage == stage
    assert place_photograph_by_marks(shot, entry, key) == frame  # sent twice
    assert frame in verdict_of(card.run).frames
    kept = {row.square_id: row.fraction for row in SquareCoverage.objects.all()}
    SquareCoverage.objects.all().delete()
    recount(season)
    assert {row.square_id: row.fraction for row in SquareCoverage.objects.all()} == kept


def test_placed_anew_in_another_stage_it_leaves_the_first(season, surface):
    grid, stage, (first, *_rest) = surface
    later = make_stage(season)
    make_goal(later, first)
    shot = make_photograph(season)
    frame = place_photograph_by_marks(shot, PointsEntry(grid, stage, corners(0, 1)), uuid4())

    with pytest.raises(Stale):
        place_photograph_by_marks(shot, PointsEntry(grid, later, corners(0, 1)), uuid4())
    place_photograph_by_marks(
        shot, PointsEntry(grid, later, corners(0.5, 1.5)), uuid4(), frame.version
    )

    assert (share(stage, first), share(later, first)) == pytest.approx((0.0, 0.5))


def test_left_out_and_used_again_by_a_lead_only(season, surface):
    grid, stage, (first, *_rest) = surface
    shot = make_photograph(season)
    entry = PointsEntry(grid, stage, corners(0, 1))
    frame = place_photograph_by_marks(shot, entry, uuid4())
    run = make_run(season, stage=stage, grid=grid)

    frame = leave_out_frame(frame, "Blurred.")
    assert share(stage, first) == 0.0
    with pytest.raises(Refused, match="known points"):
        use_frame(frame, run.rows.get(), 1)
    with acting_as(make_member(season.site, Role.CREW).account), pytest.raises(PermissionDenied):
        place_photograph_by_marks(shot, entry, uuid4(), frame.version)
    frame = place_photograph_by_marks(shot, entry, uuid4(), frame.version)
    assert (share(stage, first), frame.left_out_reason) == (pytest.approx(1.0), "")
    void_photograph(shot, "A test shot.")
    assert share(stage, first) == 0.0


def test_a_placed_photograph_keeps_its_stage_when_it_is_mended(season, surface):
    grid, stage, _squares = surface
    shot = make_photograph(season)
    place_photograph_by_marks(shot, PointsEntry(grid, stage, corners(0, 1)), uuid4())

    edit_photograph(shot, PhotographEntry("detail", stage=stage, subject="Keel"), None)
    with pytest.raises(Refused, match="counts in"):
        edit_photograph(shot, PhotographEntry("detail", stage=make_stage(season)), None)


def test_a_stray_tower_frame_is_used_by_its_points(season, surface):
    grid, stage, (first, *_rest) = surface
    card = make_card(make_run(season, stage=stage, grid=grid))
    frame = leave_out_frame(make_frame(card, 1), "Moved a little.")
    assert share(stage, first) == 0.0

    frame = place_frame_by_marks(frame, corners(0, 1), frame.version, uuid4())

    assert frame.is_kept
    assert frame.station == 1
    assert share(stage, first) == pytest.approx(1.0)
    entry = PointsEntry(grid, stage, corners(0, 1))
    with pytest.raises(Refused, match="tower frame"):
        place_photograph_by_marks(frame.photograph, entry, uuid4(), frame.version)


def test_a_frame_without_a_card_cannot_stand_on_a_station(season, surface):
    grid, stage, _squares = surface
    row = make_run(season, stage=stage, grid=grid).rows.get()
    with pytest.raises(IntegrityError), transaction.atomic():
        Frame.objects.create(
            photograph=make_photograph(season),
            row=row,
            station=1,
            is_kept=False,
            left_out_reason="none",
        )


def test_known_points_by_their_names(season, surface):
    grid, _stage, (first, *_rest) = surface
    find = make_find(season, square=first)
    fix_by_offsets(find, FixEntry(0.25, 0.5, None, 0.02))
    bones = make_find(season, square=first, restriction="human_remains")
    fix_by_offsets(bones, FixEntry(0.75, 0.5, None, 0.02))
    known = KnownPoints(grid, season)

    assert known.at("K7 lower left") == (0.0, 0.0)
    assert known.at(" l7,  Upper right ") == (2.0, 1.0)
    assert known.at(f"find {find.n}") == pytest.approx((0.25, 0.5))
    with pytest.raises(Refused, match="no position on this grid"):
        known.at(f"find {bones.n}")
    with pytest.raises(Refused, match="K7 lower left"):
        known.at("the big stone")
    assert known.named(f"K7 L7, find {find.n}") == [
        f"find {find.n}",
        *("K7 upper left", "K7 upper right", "K7 lower left", "K7 lower right"),
        *("L7 upper right", "L7 lower right"),  # its left corners are K7's right ones
    ]


def posted(grid, stage, *points, **said) -> dict[str, str]:
    data = {
        "id": str(uuid4()),
        "version": "0",
        "grid": str(grid.pk),
        "stage": str(stage.pk),
        "points-TOTAL_FORMS": "16",
        "points-INITIAL_FORMS": "0",
    }
    for number, (name, x, y, u, v) in enumerate(points):
        row = {"name": name, "x_m": x, "y_m": y, "u": u, "v": v}
        data |= {f"points-{number}-{key}": value for key, value in row.items()}
    return data | said


FOUR = (
    ("K7 upper left", "", "", "-0.5", "-0.5"),
    ("K7 upper right", "", "", "1499.5", "-0.5"),
    ("K7 lower left", "", "", "-0.5", "999.5"),
    ("K7 lower right", "", "", "1499.5", "999.5"),
)


def test_crew_place_a_record_shot_by_square_corners_and_a_point_of_their_own(
    season, surface, client
):
    grid, stage, (first, *_rest) = surface
    shot = make_photograph(season, square=first, stage=stage)
    client.force_login(make_member(season.site, Role.CREW).account)
    page = reverse("photo_points", args=[season.code, shot.pk])
    assert client.get(page).content.decode().count("K7 lower left") == 1

    listed = client.post(page, posted(grid, stage, *FOUR, more="L7", add="1"))
    assert listed.status_code == 200
    assert "L7 lower right" in listed.content.decode()
    assert 'value="1499.5"' in listed.content.decode()
    unknown = client.post(page, posted(grid, stage, *FOUR, more="Z9Q", add="1"))
    assert unknown.status_code == 422
    wrong = posted(grid, stage, *FOUR[:3], ("stone", "", "", "1499.5", "999.5"))
    assert "is no known point" in client.post(page, wrong).content.decode()
    few = client.post(page, posted(grid, stage, *FOUR[:3])).content.decode()
    assert "needs four marks or more; there are 3" in few
    elsewhere = posted(grid, stage, *FOUR[:3], ("K7 lower right", "2", "0", "1499.5", "999.5"))
    assert "K7 lower right lies at" in client.post(page, elsewhere).content.decode()
    done = client.post(page, posted(grid, stage, *FOUR, ("peg", "0.5", "0,5", "749.5", "499.5")))

    assert done.status_code == 303
    frame = Frame.objects.get()
    assert frame.placement.degrees_of_freedom == 2
    assert share(stage, first) == pytest.approx(1.0)
    shown = client.get(done["Location"]).content.decode()
    assert "5 points agree within" in shown
    assert "K7</a> 100 %" in shown
    again = client.get(page).content.decode()
    assert 'value="peg"' in again
    assert 'value="749.5"' in again
    square = reverse("square", args=[season.code, grid.code, "K7"])
    told = client.get(square).content.decode()
    assert "placed by known points: it covers 100 %" in told


def test_a_tower_frame_is_placed_by_points_on_its_run_s_grid(season, surface, client):
    grid, stage, (first, *_rest) = surface
    frame = make_frame(make_card(make_run(season, stage=stage, grid=grid)), 1)
    client.force_login(make_member(season.site, Role.CREW).account)
    page = reverse("photo_points", args=[season.code, frame.photograph_id])
    assert "K7 lower left" in client.get(page).content.decode()

    done = client.post(page, posted(grid, stage, *FOUR, version=str(frame.version)))

    assert done.status_code == 303
    frame.refresh_from_db()
    assert frame.placement.method == "marks"
    assert frame.station == 1
    assert share(stage, first) == pytest.approx(1.0)


def test_the_page_of_a_square_asks_as_often_with_placed_photographs(
    season, surface, client, django_assert_max_num_queries
):
    grid, stage, _squares = surface
    client.force_login(make_member(season.site, Role.CREW).account)
    page = reverse("square", args=[season.code, grid.code, "K7"])
    entry = PointsEntry(grid, stage, corners(0, 1))
    place_photograph_by_marks(make_photograph(season), entry, uuid4())
    client.get(page)
    with django_assert_max_num_queries(200) as first_time:
        client.get(page)
    for _more in range(4):
        place_photograph_by_marks(make_photograph(season), entry, uuid4())

    with django_assert_max_num_queries(len(first_time.captured_queries)):
        client.get(page)
