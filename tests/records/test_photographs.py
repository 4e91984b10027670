"""Single photographs, and frames that turn out wrong after they were accepted."""

from io import BytesIO
from uuid import uuid4

import pytest

from records.intake.pictures import bring_in_picture
from records.models import (
    Frame,
    Photograph,
    PhotoKind,
    SeasonEvent,
    SquareCoverage,
)
from records.refusals import Closed, Conflict, Refused, Stale
from records.verbs.frames import leave_out_frame, stand_frame, use_frame
from records.verbs.photographs import (
    PhotographEntry,
    edit_photograph,
    record_photograph,
    void_photograph,
)
from records.verbs.tower import RowEntry
from tests import made_files
from tests.factory import (
    make_day,
    make_dive,
    make_grid,
    make_season,
    make_square,
    make_stage,
)
from tests.factory_pictures import make_card, make_frame, make_run


def picture(season, seed: int = 1):
    return bring_in_picture(season, BytesIO(made_files.jpeg(seed=seed)), f"P{seed}.JPG")


def test_a_slate_goes_with_its_dive_and_is_numbered(season):
    dive, key, taken = make_dive(make_day(season)), uuid4(), picture(season)
    entry = PhotographEntry(PhotoKind.SLATE, dive=dive, subject=" Slate ")
    slate = record_photograph(season, taken, entry, key)

    assert (slate.number, slate.subject) == (f"{season.code}-photo-1", "Slate")
    assert list(dive.photographs.all()) == [slate]
    assert record_photograph(season, taken, entry, key) == slate
    with pytest.raises(Conflict, match=r"already as .*-photo-1"):
        record_photograph(season, taken, entry, uuid4())


def test_what_does_not_fit_is_refused_and_takes_no_number(season):
    other = make_season()
    square = make_square(make_grid(season.site))
    taken = picture(season)
    wrong = {
        "dive": PhotographEntry(PhotoKind.SLATE, dive=make_dive(make_day(other))),
        "stage": PhotographEntry(PhotoKind.DETAIL, square=square),
        "kind": PhotographEntry(PhotoKind.FRAME),
        "square": PhotographEntry(
            PhotoKind.DETAIL, square=make_square(make_grid(other.site)), stage=make_stage(season)
        ),
    }
    for field, entry in wrong.items():
        with pytest.raises(Refused) as refusal:
            record_photograph(season, taken, entry, uuid4())
        assert refusal.value.field == field
    stage = make_stage(season)
    detail = PhotographEntry(PhotoKind.DETAIL, square=square, stage=stage, facing="north")
    assert record_photograph(season, taken, detail, uuid4()).n == 1


def test_words_are_mended_over_the_version_that_was_seen(season):
    shot = record_photograph(season, picture(season), PhotographEntry(PhotoKind.DETAIL), uuid4())
    edited = edit_photograph(shot, PhotographEntry(PhotoKind.OTHER, subject="Ring"), 1)

    assert (edited.kind, edited.subject, edited.search_text) == ("other", "Ring", "1 ring p1.jpg")
    with pytest.raises(Stale):
        edit_photograph(shot, PhotographEntry(PhotoKind.OTHER), 1)


def test_a_voided_photograph_keeps_its_number_and_its_file_may_come_in_anew(season):
    entry = PhotographEntry(PhotoKind.DETAIL)
    shot = record_photograph(season, picture(season), entry, uuid4())
    void_photograph(shot, "of another wreck")
    again = record_photograph(season, picture(season), entry, uuid4())

    assert Photograph.objects.get(n=1).void_reason == "of another wreck"
    assert again.n == 2
    assert again.picture != shot.picture
    assert again.picture.file == shot.picture.file


def test_after_fieldwork_single_photographs_go_on_and_frames_are_frozen(season):
    frame = make_frame(make_card(make_run(season)), 1)
    SeasonEvent.objects.create(season=season, kind="fieldwork_closed", reason="done")

    record_photograph(season, picture(season), PhotographEntry(PhotoKind.FIND), uuid4())
    with pytest.raises(Closed):
        void_photograph(frame.photograph, "late")
    frame.photograph.refresh_from_db()
    assert not frame.photograph.is_voided


@pytest.fixture
def frames(season):
    """Three frames, 1.5 × 1 m, a metre apart over three squares, which they cover whole."""
    grid, stage = make_grid(season.site), make_stage(season)
    for column in range(3):
        make_square(grid, column)
    card = make_card(make_run(season, RowEntry(0.5, 0.5, 0.0, 1.0, 3), grid=grid, stage=stage))
    return [make_frame(card, station) for station in (1, 2, 3)]


def shares() -> list[float]:
    rows = SquareCoverage.objects.order_by("square__column").values_list("fraction", flat=True)
    return pytest.approx(list(rows))


def test_what_a_voided_frame_covered_is_counted_without_it(frames):
    void_photograph(frames[1].photograph, "a fish before the lens")

    assert shares() == [1.0, 0.5, 1.0]


def test_a_frame_is_left_out_and_used_again(frames):
    left = leave_out_frame(frames[1], "blurred", seen_version=1)
    assert (left.is_kept, left.placement) == (False, None)
    assert shares() == [1.0, 0.5, 1.0]
    with pytest.raises(Conflict, match="blurred"):
        leave_out_frame(frames[1], "again")

    use_frame(frames[1], frames[1].row, 2)
    assert shares() == [1.0, 1.0, 1.0]
    with pytest.raises(Conflict, match="used already"):
        use_frame(frames[1], frames[1].row, 2)


def test_a_frame_stood_400_mm_off_opens_the_hole_computed_by_hand(frames):
    moved = stand_frame(frames[2], frames[2].row, 3, (0.4, 0.0), seen_version=1)

    # the third now begins at 2.15, the second ends at 2.25: all is covered still
    assert shares() == [1.0, 1.0, 1.0]
    stand_frame(frames[1], frames[1].row, 2, (-0.4, 0.0))
    # the second now ends at 1.85: 0.15 m of its square and 0.15 m of the next show
    assert shares() == [1.0, 0.85, 0.85]
    assert Frame.objects.get(pk=moved.pk).foot_x_m == 0.4


def test_a_frame_stands_only_on_stations_of_its_run(season, frames):
    other = make_run(season).rows.get()

    with pytest.raises(Refused, match="no such station"):
        stand_frame(frames[0], other, 1)
    with pytest.raises(Refused, match="no such station"):
        stand_frame(frames[0], frames[0].row, 4)
