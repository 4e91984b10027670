"""Frames on their stations: placements, and the coverage that follows them."""

from uuid import uuid4

import pytest

from records.models import Frame, SquareCoverage
from records.refusals import Refused, Stale
from records.verbs.coverage import recount
from records.verbs.placing import MarkEntry, place_frame_by_marks, placed_by_station
from records.verbs.tower import RowEntry, RunEntry, make_set_up, plan_run
from tests.factory import make_goal, make_grid, make_season, make_square, make_stage
from tests.factory_pictures import (
    make_card,
    make_frame,
    make_picture,
    make_run,
    make_tower_set_up,
    set_up_entry,
)


@pytest.fixture
def squares(season):
    """Three squares in a row, wanted in one stage."""
    grid, stage = make_grid(season.site), make_stage(season)
    squares = [make_square(grid, column) for column in range(3)]
    for square in squares:
        make_goal(stage, square)
    return stage, squares


def share(stage, square) -> float:
    return SquareCoverage.objects.get(stage=stage, square=square).fraction


def test_a_typed_footprint_places_the_picture_on_the_base(season):
    set_up = make_tower_set_up(season)

    # 1.5 m over 1500 px: the first pixel's centre lies half a millimetre inside the corner
    assert set_up.placement.h == pytest.approx([0.001, 0, -0.7495, 0, -0.001, 0.4995, 0, 0, 1])


def test_a_set_up_or_run_sent_twice_is_made_once(season):
    key = uuid4()

    assert make_set_up(season, set_up_entry(), key) == make_set_up(season, set_up_entry(), key)
    run = make_run(season)
    assert run.rows.count() == 1


def test_stations_lie_along_the_rows_direction(season):
    run = make_run(season, RowEntry(2.0, 1.0, 90.0, 0.5, 3))

    assert run.rows.get().station_at(1) == pytest.approx((2.0, 1.0))
    assert run.rows.get().station_at(3) == pytest.approx((2.0, 2.0))


def test_three_frames_cover_three_squares_but_for_no_gap(season, squares):
    stage, (first, second, third) = squares
    card = make_card(make_run(season, stage=stage, grid=first.grid))
    make_frame(card, 1)

    # footprint 1.5 × 1 m about (0.5, 0.5): x from −0.25 to 1.25
    assert share(stage, first) == pytest.approx(1.0)
    assert share(stage, second) == pytest.approx(0.25)

    make_frame(card, 3)
    assert share(stage, second) == pytest.approx(0.5)
    hole = SquareCoverage.objects.get(stage=stage, square=second).holes[0]
    assert hole["area_m2"] == pytest.approx(0.5)
    assert share(stage, third) == pytest.approx(1.0)


def test_a_frame_shifted_by_marks_opens_the_hole_that_was_computed(season, squares):
    stage, (first, second, third) = squares
    card = make_card(make_run(season, stage=stage, grid=first.grid))
    frames = [make_frame(card, station) for station in (1, 2, 3)]
    assert [share(stage, one) for one in (first, second, third)] == pytest.approx([1, 1, 1])

    # the first frame now lies 0.4 m farther along x: 0.15 m of the first square shows
    corners = [(-0.5, -0.5, 0.15, 1.0), (1499.5, -0.5, 1.65, 1.0)]
    corners += [(1499.5, 999.5, 1.65, 0.0), (-0.5, 999.5, 0.15, 0.0)]
    frame = place_frame_by_marks(frames[0], [MarkEntry(*one) for one in corners], frames[0].version)

    assert share(stage, first) == pytest.approx(0.85)
    assert frame.placement.rms_px is None
    assert frame.placement.marks.count() == 4
    with pytest.raises(Stale):
        place_frame_by_marks(frames[0], [], seen_version=1)


def test_marks_on_a_line_are_refused_in_words(season, squares):
    stage, (first, *_rest) = squares
    frame = make_frame(make_card(make_run(season, stage=stage, grid=first.grid)), 1)
    before = frame.placement_id

    with pytest.raises(Refused, match="line"):
        place_frame_by_marks(
            frame, [MarkEntry(10.0 * i, 10.0 * i, i / 10, i / 10) for i in range(4)], 1
        )
    assert Frame.objects.get().placement_id == before


def test_a_frame_of_another_size_than_the_set_up_is_refused(season):
    run = make_run(season)
    picture = make_picture(season.site, orientation=6)  # upright 1000 × 1500

    with pytest.raises(Refused, match="1000 × 1500"):
        placed_by_station(picture, run.rows.get(), 1)


def test_recount_finds_what_the_verbs_kept(season, squares):
    stage, (first, *_rest) = squares
    card = make_card(make_run(season, stage=stage, grid=first.grid))
    make_frame(card, 1)
    make_frame(card, 2)
    kept = {row.square_id: row.fraction for row in SquareCoverage.objects.all()}
    SquareCoverage.objects.all().delete()

    recount(season)

    assert {row.square_id: row.fraction for row in SquareCoverage.objects.all()} == kept


def test_a_run_needs_rows_of_this_site(season):
    other = make_season()

    with pytest.raises(Refused, match="this site"):
        make_run(season, grid=make_grid(other.site))
    run = make_run(season)
    with pytest.raises(Refused, match="at least one row"):
        plan_run(season, RunEntry("bare", run.stage, run.grid, run.set_up, ()), uuid4())
