"""Drawings: brought in, placed on their squares, checked, and what they make of the plan."""

from uuid import uuid4

import cv2
import numpy as np
import pytest
from django.core.exceptions import PermissionDenied
from django.utils import timezone

from fixtures.drawing import drawn_sheet
from fixtures.season import season as demo_season
from records.acting import acting_as
from records.models import (
    Drawing,
    DrawingCheck,
    Extent,
    Mark,
    Method,
    NumberEnd,
    Placement,
    RedoReason,
    Role,
    SeasonEvent,
    Square,
    Verdict,
)
from records.queries.evidence import State
from records.queries.sources import evidence_of
from records.refusals import Closed, Conflict, Refused, Stale
from records.verbs.drawings import DrawingEntry, bring_in_drawing, edit_drawing, void_drawing
from records.verbs.drawn_squares import (
    Crossing,
    SquareMarks,
    check_drawn_square,
    place_drawn_square,
    remark_square,
    void_drawn_square,
)
from records.verbs.extents import ExtentEntry
from survey.placement import Placement as Placed
from survey.placement import to_plane
from tests.factory import (
    make_block,
    make_day,
    make_dive,
    make_diver,
    make_goal,
    make_grid,
    make_member,
    make_season,
    make_square,
    make_stage,
)
from tests.factory_drawings import CORNERS, make_drawing
from tests.factory_pictures import make_photograph, make_picture, make_stored_file

MARKS = SquareMarks(CORNERS)


@pytest.fixture
def square(season):
    return make_square(make_grid(season.site, first_row="7"), 3, -2)


@pytest.fixture
def stage(season, square):
    stage = make_stage(season)
    make_goal(stage, square)
    return stage


@pytest.fixture
def drawing(season):
    return bring_in_drawing(season, sheet(season), DrawingEntry(), uuid4())


@pytest.fixture
def drawn(drawing, square, stage):
    return place_drawn_square(drawing, square, stage, Extent.WHOLE, MARKS)


def sheet(season, **fields):
    file = make_stored_file(width_px=1000, height_px=1400, **fields)
    return make_picture(season.site, file=file)


def close(season, kind="fieldwork_closed"):
    SeasonEvent.objects.create(season=season, kind=kind, reason="done")


def state(square, stage) -> State:
    evidence = evidence_of(stage.season, Square.objects.filter(pk=square.pk))
    goal = stage.goals.get(square=square)
    return evidence.state(square.pk, stage, goal, Method.DRAWING).state


class TestBringIn:
    def test_sheets_take_the_next_numbers_and_a_double_submit_is_one(self, season):
        picture, key = sheet(season), uuid4()

        first = bring_in_drawing(season, picture, DrawingEntry(), key)

        assert bring_in_drawing(season, picture, DrawingEntry(), key) == first
        assert first.number == f"{season.code}-drawing-1"
        assert bring_in_drawing(season, sheet(season), DrawingEntry(), uuid4()).n == 2

    def test_the_same_key_with_other_content_is_told(self, season):
        picture, key = sheet(season), uuid4()
        bring_in_drawing(season, picture, DrawingEntry(), key)

        with pytest.raises(Conflict, match="other content"):
            bring_in_drawing(season, picture, DrawingEntry(scale=5), key)

    def test_a_number_written_on_the_sheet_comes_from_its_block(self, season):
        make_block(season, kind="drawing", first=40, last=44)

        drawing = bring_in_drawing(season, sheet(season), DrawingEntry(), uuid4(), number=42)

        assert drawing.n == 42
        assert NumberEnd.objects.get(n=42).end == "used"
        with pytest.raises(Refused, match="ended already"):
            bring_in_drawing(season, sheet(season), DrawingEntry(), uuid4(), number=42)

    def test_a_sheet_is_one_standing_drawing(self, season, drawing):
        with pytest.raises(Conflict, match=f"it is {drawing.number}"):
            bring_in_drawing(season, drawing.picture, DrawingEntry(), uuid4())

        void_drawing(drawing, "wrong season")
        again = bring_in_drawing(season, drawing.picture, DrawingEntry(), uuid4())
        assert (again.n, drawing.picture.drawings.count()) == (2, 2)

    def test_a_photograph_or_a_raw_file_is_no_drawing(self, season):
        photograph = make_photograph(season)
        with pytest.raises(Conflict, match=photograph.number):
            bring_in_drawing(season, photograph.picture, DrawingEntry(), uuid4())

        raw = make_picture(season.site, file=make_stored_file(width_px=None, height_px=None))
        with pytest.raises(Refused, match="raw file"):
            bring_in_drawing(season, raw, DrawingEntry(), uuid4())
        assert not Drawing.objects.exists()

    def test_dive_diver_and_field_drawing_belong_to_it(self, season, drawing):
        other = make_season()
        wrong = {
            "dive": make_dive(make_day(other)),
            "drawn_by": make_diver(other.site),
            "inked": make_drawing(other),
        }
        for field, value in wrong.items():
            entry = DrawingEntry(**{"inked_from" if field == "inked" else field: value})
            with pytest.raises(Refused) as refused:
                bring_in_drawing(season, sheet(season), entry, uuid4())
            assert refused.value.field == field

    def test_only_a_field_drawing_is_inked(self, season, drawing):
        inked = bring_in_drawing(season, sheet(season), DrawingEntry(inked_from=drawing), uuid4())
        with pytest.raises(Refused, match="no field drawing"):
            bring_in_drawing(season, sheet(season), DrawingEntry(inked_from=inked), uuid4())

    def test_what_is_said_of_it_can_be_mended_and_history_keeps_it(self, season, drawing):
        edit_drawing(drawing, DrawingEntry(scale=5, note=" film torn "), 1)

        drawing.refresh_from_db()
        assert (drawing.scale, drawing.note, drawing.version) == (5, "film torn", 2)
        assert drawing.history.count() == 2
        with pytest.raises(Stale):
            edit_drawing(drawing, DrawingEntry(), 1)


class TestPlacing:
    def test_four_corners_place_the_square_without_a_residual(self, drawn, square):
        placement = drawn.placement
        placed = to_plane(Placed(placement.h), CORNERS)

        np.testing.assert_allclose(placed, [[3, -2], [4, -2], [4, -1], [3, -1]], atol=1e-9)
        assert (placement.degrees_of_freedom, placement.rms_mm) == (0, None)
        assert [mark.label for mark in placement.marks.all()] == [
            "0 / 0",
            "1 / 0",
            "1 / 1",
            "0 / 1",
        ]

    def test_crossings_give_a_residual(self, drawing, square, stage):
        """On this sheet 1 px is 1.25 mm; the crossing is marked 4 px beside its place."""
        crossing = Crossing(100 + 0.4 * 800 + 4, 1100 - 0.6 * 800, 0.4, 0.6)
        drawn = place_drawn_square(
            drawing, square, stage, Extent.WHOLE, SquareMarks(CORNERS, [crossing])
        )

        assert drawn.placement.degrees_of_freedom == 2
        assert 0 < drawn.placement.rms_mm < 5
        assert Mark.objects.get(label="0.4 / 0.6").x_m == pytest.approx(3.4)

    @pytest.mark.parametrize(
        ("corners", "words"),
        [
            (CORNERS[:3], "all four corners"),
            (CORNERS[::-1], "mirror"),
            ((*CORNERS[:3], (100.0, 1500.0)), "outside the picture"),
            ((CORNERS[0], CORNERS[2], CORNERS[1], CORNERS[3]), "cross over"),
            ((*CORNERS[:3], CORNERS[0]), "same point"),
        ],
    )
    def test_corners_that_cannot_be_are_refused_and_leave_nothing(
        self, drawing, square, stage, corners, words
    ):
        with pytest.raises(Refused, match=words):
            place_drawn_square(drawing, square, stage, Extent.WHOLE, SquareMarks(corners))
        assert not Placement.objects.exists()

    def test_a_stage_must_be_open_for_the_square(self, season, drawing, square):
        with pytest.raises(Refused, match="not open for"):
            place_drawn_square(drawing, square, make_stage(season), Extent.WHOLE, MARKS)
        with pytest.raises(Refused, match="another season"):
            place_drawn_square(drawing, square, make_stage(make_season()), Extent.WHOLE, MARKS)

    def test_a_square_is_once_on_a_sheet(self, drawing, drawn, square, stage):
        with pytest.raises(Refused, match="marked on this drawing already"):
            place_drawn_square(drawing, square, stage, Extent.WHOLE, MARKS)

    def test_marked_anew_it_has_a_new_placement_and_history_keeps_the_old(self, drawn):
        old = drawn.placement
        moved = SquareMarks([(u + 2, v) for u, v in CORNERS])

        again = remark_square(drawn, Extent.PART, moved, 1)

        assert again.placement != old
        assert Placement.objects.count() == 2
        assert [one.placement_id for one in again.history.all()] == [again.placement_id, old.pk]
        with pytest.raises(Stale):
            remark_square(drawn, Extent.WHOLE, MARKS, 1)

    def test_two_squares_of_one_sheet_each_have_their_placement(self, drawing, drawn, stage):
        neighbour = make_square(drawn.square.grid, 4, -2)
        make_goal(stage, neighbour)
        other = place_drawn_square(drawing, neighbour, stage, Extent.WHOLE, MARKS)

        assert other.placement != drawn.placement

    def test_corners_seen_to_the_pixel_place_the_sheet_within_a_millimetre(self, season):
        """On a sheet of the demo, scanned askew: the truth is where the scanner laid it."""
        demo = demo_season(timezone.now())
        spec = next(one for one in demo.sheets if len(one.squares) == 1)
        scan = drawn_sheet(spec, demo)
        height, width = cv2.imdecode(np.frombuffer(scan.png, np.uint8), 0).shape
        ((_label, truth),) = scan.corners.items()
        square = make_square(make_grid(season.site), 1, 2)
        stage = make_stage(season)
        make_goal(stage, square)
        file = make_stored_file(width_px=width, height_px=height)
        drawing = make_drawing(season, picture=make_picture(season.site, file=file))

        seen = SquareMarks([(round(u), round(v)) for u, v in truth])
        drawn = place_drawn_square(drawing, square, stage, Extent.WHOLE, seen)

        x, y = (share.ravel()[:, None] for share in np.meshgrid(*[np.linspace(0, 1, 11)] * 2))
        a, b, _c, d = np.array(truth)  # the scan turns and scales, no more
        points = a + x * (b - a) + y * (d - a)
        placed = to_plane(Placed(drawn.placement.h), points)
        errors = np.linalg.norm(placed - np.hstack([1 + x, 2 + y]), axis=1)
        assert errors.max() < 0.001


class TestChecking:
    def test_it_waits_then_counts_by_its_latest_check(self, drawn, square, stage):
        assert state(square, stage) == State.WAITING
        check_drawn_square(drawn, Verdict.REDO, RedoReason.EDGE)
        assert state(square, stage) == State.SENT_BACK
        check_drawn_square(drawn, Verdict.ACCEPTED)
        assert state(square, stage) == State.DONE
        assert drawn.checks.count() == 2

    def test_an_accepted_part_shows_as_begun(self, drawing, square, stage):
        part = place_drawn_square(drawing, square, stage, Extent.PART, MARKS)
        check_drawn_square(part, Verdict.ACCEPTED)
        assert state(square, stage) == State.BEGUN

    def test_what_nobody_said_is_said_once_and_never_overwritten_unseen(
        self, season, drawing, square, stage
    ):
        drawn = place_drawn_square(drawing, square, stage, "", MARKS)
        with pytest.raises(Refused, match="the whole square, or a part of it"):
            check_drawn_square(drawn, Verdict.ACCEPTED)
        check_drawn_square(drawn, Verdict.REDO, RedoReason.EDGE)
        assert state(square, stage) == State.SENT_BACK
        with pytest.raises(Refused, match="checked meanwhile"):
            edit_drawing(drawing, DrawingEntry(), None, [ExtentEntry(drawn.pk, Extent.WHOLE)])
        remark_square(drawn, "", MARKS, None)

        with acting_as(make_member(season.site, Role.CREW).account):
            edit_drawing(drawing, DrawingEntry(), None, [ExtentEntry(drawn.pk, Extent.PART)])
            with pytest.raises(Conflict, match="a part of it"):
                edit_drawing(drawing, DrawingEntry(), None, [ExtentEntry(drawn.pk, Extent.WHOLE)])
        with pytest.raises(Conflict, match="a part of it"):
            check_drawn_square(drawn, Verdict.ACCEPTED, extent=Extent.WHOLE)
        with pytest.raises(Conflict, match="level"):
            check_drawn_square(drawn, Verdict.ACCEPTED, frame_lies="slope")
        check_drawn_square(drawn, Verdict.ACCEPTED)
        assert state(square, stage) == State.BEGUN

    def test_marked_anew_it_waits_for_a_new_check(self, drawn, square, stage):
        check_drawn_square(drawn, Verdict.ACCEPTED)
        remark_square(drawn, Extent.WHOLE, MARKS, 2)
        assert state(square, stage) == State.WAITING

    def test_a_void_square_or_drawing_counts_for_nothing(self, drawn, square, stage):
        check_drawn_square(drawn, Verdict.ACCEPTED)
        void_drawing(drawn.drawing, "of another wreck")
        assert state(square, stage) == State.WANTED
        drawn.refresh_from_db()
        assert drawn.void_reason == "of another wreck"
        with pytest.raises(Conflict, match="made void"):
            check_drawn_square(drawn, Verdict.ACCEPTED)

    def test_a_void_square_can_be_marked_again(self, drawing, drawn, square, stage):
        void_drawn_square(drawn, "meant L7")
        assert place_drawn_square(drawing, square, stage, Extent.WHOLE, MARKS) != drawn

    def test_it_goes_back_with_a_reason(self, drawn):
        with pytest.raises(Refused, match="why the drawing goes back"):
            check_drawn_square(drawn, Verdict.REDO)
        with pytest.raises(Refused, match="why the drawing goes back"):
            check_drawn_square(drawn, Verdict.REDO, RedoReason.OTHER)
        assert not DrawingCheck.objects.exists()

    def test_two_taps_are_one_check_and_a_stale_page_checks_nothing(self, drawn):
        key = uuid4()
        check_drawn_square(drawn, Verdict.ACCEPTED, id=key, seen_version=1)
        check_drawn_square(drawn, Verdict.ACCEPTED, id=key, seen_version=1)
        with pytest.raises(Stale):  # a second lead, on a page drawn before the first one's tap
            check_drawn_square(drawn, Verdict.REDO, RedoReason.EDGE, seen_version=1)
        remark_square(drawn, Extent.WHOLE, MARKS, 2)

        with pytest.raises(Stale):
            check_drawn_square(drawn, Verdict.ACCEPTED, seen_version=2)
        assert drawn.checks.count() == 1

    def test_crew_marks_and_leads_check(self, season, drawn):
        with acting_as(make_member(season.site, Role.CREW).account):
            remark_square(drawn, Extent.WHOLE, MARKS, 1)
            with pytest.raises(PermissionDenied):
                check_drawn_square(drawn, Verdict.ACCEPTED)
            with pytest.raises(PermissionDenied):
                void_drawing(drawn.drawing, "mine")


class TestClosing:
    def test_field_drawings_close_with_the_fieldwork(self, season, drawn, square, stage):
        close(season)
        acts = [
            lambda: bring_in_drawing(season, sheet(season), DrawingEntry(), uuid4()),
            lambda: edit_drawing(drawn.drawing, DrawingEntry(scale=5), None),
            lambda: edit_drawing(drawn.drawing, DrawingEntry(inked_from=drawn.drawing), None),
            lambda: void_drawing(drawn.drawing, "late"),
            lambda: remark_square(drawn, Extent.WHOLE, MARKS, None),
            lambda: void_drawn_square(drawn, "late"),
            lambda: check_drawn_square(drawn, Verdict.ACCEPTED),
        ]
        for act in acts:
            with pytest.raises(Closed, match="Fieldwork"):
                act()

    def test_inked_ones_stay_open_until_the_archive_is_deposited(
        self, season, drawn, square, stage
    ):
        close(season)
        entry = DrawingEntry(inked_from=drawn.drawing)

        inked = bring_in_drawing(season, sheet(season), entry, uuid4())
        placed = place_drawn_square(inked, square, stage, Extent.WHOLE, MARKS)
        check_drawn_square(placed, Verdict.ACCEPTED)

        close(season, "deposited")
        with pytest.raises(Closed, match="deposited"):
            check_drawn_square(placed, Verdict.ACCEPTED)
