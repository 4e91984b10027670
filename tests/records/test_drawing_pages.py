"""The pages of drawings: bringing one in, marking it, the list, the check, the edges."""

import io
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from records.acting import acting_as
from records.intake.pictures import bring_in_picture
from records.models import (
    Drawing,
    DrawingCheck,
    DrawnSquare,
    NumberEnd,
    Picture,
    Role,
    SeasonEvent,
    Verdict,
    WindowToMake,
)
from records.queries.drawings import drawn_squares, next_to_check
from records.views.drawing_acts import TURNED
from tests import made_files as made
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
from tests.factory_drawings import CORNERS, make_drawing, make_drawn_square
from tests.factory_pictures import make_card, make_frame, make_run

pytestmark = pytest.mark.django_db


@pytest.fixture
def season():
    return make_season()


@pytest.fixture
def squares(season, stage):
    """K7, L7 and M7, open for drawing."""
    grid = make_grid(season.site, first_column="K", first_row="7")
    squares = [make_square(grid, column) for column in range(3)]
    for square in squares:
        make_goal(stage, square)
    return squares


@pytest.fixture
def lead(season):
    return make_member(season.site, Role.LEAD).account


@pytest.fixture
def drawn(season, squares, stage, lead):
    with acting_as(lead):
        return make_drawn_square(make_drawing(season), squares[0], stage)


@pytest.fixture
def as_lead(client, lead):
    client.force_login(lead)
    return client


@pytest.fixture
def crew(client, season):
    client.force_login(make_member(season.site, Role.CREW).account)
    return client


def url(name, season, *more):
    return reverse(name, args=[season.code, *more])


def upload(seed=1):
    return SimpleUploadedFile("K7 L7.png", made.encoded(made.pixels(200, 280, seed), "PNG"))


def said(**more):
    return {
        "id": uuid4(),
        "squares": "k7, L7",
        "kind": "plan",
        "scale": "10",
        "frame_lies": "level",
    } | more


def marks(stage, corners=CORNERS, crossings=(), **more):
    sent = {"id": uuid4(), "stage": stage.pk, "extent": "whole"}
    for n, (u, v) in enumerate(corners):
        sent |= {f"c{n}_u": str(u), f"c{n}_v": str(v)}
    sent |= {"cross-TOTAL_FORMS": 8, "cross-INITIAL_FORMS": 0}
    for n, one in enumerate(crossings):
        sent |= dict(zip((f"cross-{n}-{k}" for k in ("x_cm", "y_cm", "u", "v")), one, strict=True))
    return sent | more


class TestBringIn:
    def test_without_script_the_file_comes_with_the_form(self, crew, season, squares):
        dive, diver = make_dive(make_day(season)), make_diver(season.site)
        form = said(file=upload(), dive=dive.pk, drawn_by=diver.pk)

        answer = crew.post(url("drawing_new", season), form)

        drawing = Drawing.objects.get()
        assert (answer.status_code, answer.url) == (303, url("drawing_squares", season, drawing.pk))
        assert (drawing.n, drawing.squares_on_sheet) == (1, "K7 L7")
        assert (drawing.dive, drawing.drawn_by) == (dive, diver)
        assert drawing.picture.original_name == "K7 L7.png"

    def test_with_script_the_file_goes_ahead(self, crew, season, squares):
        sent = crew.post(url("drawing_file", season), {"file": upload()}).json()

        answer = crew.post(url("drawing_new", season), said(picture=sent["picture"]))

        assert answer.status_code == 303
        assert str(Drawing.objects.get().picture_id) == sent["picture"]
        assert "screen" in sent["shown"]

    def test_what_is_wrong_is_said_and_the_sheet_is_kept(self, crew, season, squares):
        answer = crew.post(url("drawing_new", season), said(file=upload(), squares="K7 Z99"))

        page = answer.content.decode()
        assert answer.status_code == 422
        assert "Z99" in page
        picture = Picture.objects.get()
        assert f'value="{picture.pk}"' in page
        assert not Drawing.objects.exists()

    def test_no_sheet_and_no_picture_are_answered_in_words(self, crew, season, squares):
        assert "Choose the scan" in crew.post(url("drawing_new", season), said()).content.decode()
        text = SimpleUploadedFile("sheet.png", b"<html>no picture</html>")
        answer = crew.post(url("drawing_new", season), said(file=text))
        assert (answer.status_code, Picture.objects.count()) == (422, 0)
        assert "none of the files that can be taken in" in answer.content.decode()
        answer = crew.post(url("drawing_file", season), {"file": upload()}).json()
        assert "picture" in answer
        assert crew.post(url("drawing_file", season)).status_code == 422

    def test_a_sheet_that_is_there_already_is_told_at_once(self, crew, season, squares):
        crew.post(url("drawing_new", season), said(file=upload()))

        answer = crew.post(url("drawing_file", season), {"file": upload()})

        assert answer.status_code == 409
        assert Drawing.objects.get().number in answer.json()["words"]

    def test_a_numbered_sheet_takes_its_number(self, crew, season, squares):
        make_block(season, kind="drawing", first=30, last=33)
        crew.post(url("drawing_new", season), said(file=upload(), tag="31"))
        assert Drawing.objects.get().n == 31
        assert NumberEnd.objects.get().n == 31
        answer = crew.post(url("drawing_new", season), said(file=upload(2), tag="99"))
        assert "99 is in no block" in answer.content.decode()

    def test_the_square_and_its_dive_are_offered(self, crew, season, squares, stage):
        dive = make_dive(make_day(season))
        dive.tasks.create(square=squares[1], stage=stage, method="drawing", outcome="done")

        page = crew.get(url("drawing_new", season), {"squares": "L7"}).content.decode()

        assert 'value="L7"' in page
        assert f'<option value="{dive.pk}" selected>' in page

    def test_a_closed_season_says_so_before_anybody_types(self, crew, season, squares):
        SeasonEvent.objects.create(season=season, kind="fieldwork_closed", reason="done")
        assert "only fair copies" in crew.get(url("drawing_new", season)).content.decode()
        answer = crew.post(url("drawing_new", season), said(file=upload()))
        assert (answer.status_code, Drawing.objects.count()) == (409, 0)
        SeasonEvent.objects.create(season=season, kind="deposited", reason="done")
        assert crew.get(url("drawing_new", season)).status_code == 409


class TestMarks:
    def test_each_named_square_is_asked_for_in_turn(self, crew, season, squares, stage):
        drawing = make_drawing(season, squares_on_sheet="K7 L7")
        page = url("drawing_squares", season, drawing.pk)
        assert "Corners of K7" in crew.get(page).content.decode()

        assert crew.post(page, marks(stage)).url == page
        assert "Corners of L7" in crew.get(page).content.decode()

        shifted = [(u + 20, v) for u, v in CORNERS]
        assert crew.post(page, marks(stage, shifted)).url == url("drawing", season, drawing.pk)
        assert [one.square for one in DrawnSquare.objects.all()] == squares[:2]

    def test_four_corners_say_that_they_leave_no_residual(self, crew, season, squares, stage):
        drawing = make_drawing(season, squares_on_sheet="K7")
        answer = crew.post(url("drawing_squares", season, drawing.pk), marks(stage), follow=True)
        assert "Four corners always fit, so they leave no residual" in answer.content.decode()

    def test_crossings_tell_the_residual(self, crew, season, squares, stage):
        drawing = make_drawing(season, squares_on_sheet="K7")
        crossing = (40, 60, 100 + 0.4 * 800 + 4, 1100 - 0.6 * 800)

        answer = crew.post(
            url("drawing_squares", season, drawing.pk),
            marks(stage, crossings=[crossing]),
            follow=True,
        )

        placement = DrawnSquare.objects.get().placement
        assert placement.marks.count() == 5
        assert f"agree within {placement.rms_mm:.1f} mm" in answer.content.decode()

    @pytest.mark.parametrize(
        ("more", "words"),
        [
            ({"c2_u": ""}, "Still to be marked: upper right"),
            ({"c2_u": "far"}, "Give a number in px"),
            ({"cross-0-u": "5"}, "Give all four numbers of a crossing"),
            ({"c2_u": "5000"}, "outside the picture"),
        ],
    )
    def test_what_cannot_be_is_said_and_the_numbers_stay(
        self, crew, season, squares, stage, more, words
    ):
        drawing = make_drawing(season, squares_on_sheet="K7")
        answer = crew.post(url("drawing_squares", season, drawing.pk), marks(stage, **more))
        page = answer.content.decode()
        assert answer.status_code == 422
        assert words in page
        assert 'value="1100.0"' in page
        assert not DrawnSquare.objects.exists()

    def test_a_square_may_be_typed(self, crew, season, squares):
        drawing = make_drawing(season)
        page = url("drawing_squares", season, drawing.pk)
        assert "Which square of the sheet" in crew.get(page).content.decode()
        assert "Corners of M7" in crew.get(page, {"square": "m7"}).content.decode()
        assert crew.get(page, {"square": "Z99"}).status_code == 422

    def test_without_an_open_stage_a_lead_is_asked(self, crew, season, squares):
        make_square(squares[0].grid, 9)
        drawing = make_drawing(season, squares_on_sheet="T7")
        page = crew.get(url("drawing_squares", season, drawing.pk)).content.decode()
        assert "No stage is open for T7" in page

    def test_marked_anew_it_shows_the_former_marks(self, crew, season, drawn, stage):
        page = url("drawn_square_marks", season, drawn.pk)
        assert 'name="c0_v" value="1100' in crew.get(page).content.decode()

        crew.post(page, marks(stage, [(u + 3, v) for u, v in CORNERS], id=drawn.pk, version=1))

        drawn.refresh_from_db()
        assert drawn.version == 2
        answer = crew.post(page, marks(stage, id=drawn.pk, version=1))
        assert answer.status_code == 409


class TestList:
    def test_it_says_what_waits_and_shows_what_is_asked_for(self, as_lead, season, drawn, squares):
        make_drawing(season, squares_on_sheet="L7")
        page = as_lead.get(url("drawings", season)).content.decode()
        assert "1 drawn square waits for a check. 1 drawing still wants its corners" in page
        assert "Check K7" in page

        page = as_lead.get(url("drawings", season), {"only": "unmarked"}).content.decode()
        assert drawn.drawing.number not in page
        assert "corners not marked" in page

    def test_each_square_of_a_sheet_waits_for_its_own_check(
        self, as_lead, season, drawn, squares, stage, lead
    ):
        with acting_as(lead):
            make_drawn_square(drawn.drawing, squares[1], stage)

        for place in ("drawings", "pictures"):
            page = as_lead.get(url(place, season)).content.decode()
            assert "2 drawn squares wait for a check." in page, place
            assert ("They are on 1 drawing." in page) is (place == "drawings")

    def test_one_drawn_again_since_no_longer_counts_as_sent_back(
        self, season, drawn, stage, squares, lead
    ):
        with acting_as(lead):
            DrawingCheck.objects.create(drawn_square=drawn, verdict="redo", why="edge")
            make_drawn_square(make_drawing(season), squares[0], stage)
        first, second = drawn_squares(season, may_lead=True)
        assert (first.is_followed, second.is_followed) == (True, False)

    def test_queries_do_not_grow(
        self, as_lead, season, drawn, squares, stage, lead, django_assert_max_num_queries
    ):
        with acting_as(lead):
            for square in squares:
                make_drawn_square(make_drawing(season, squares_on_sheet="K7"), square, stage)
        with django_assert_max_num_queries(18):
            as_lead.get(url("drawings", season))
        with acting_as(lead):
            for square in squares * 4:
                make_drawn_square(make_drawing(season, squares_on_sheet="L7"), square, stage)
        with django_assert_max_num_queries(18):
            as_lead.get(url("drawings", season))


class TestCheck:
    def post(self, client, season, drawn, **sent):
        sent = {"id": uuid4(), "version": drawn.version} | sent
        return client.post(url("drawing_check", season, drawn.pk), sent)

    def test_one_tap_accepts_and_the_next_one_follows(
        self, as_lead, season, drawn, squares, stage, lead
    ):
        with acting_as(lead):
            following = make_drawn_square(make_drawing(season), squares[1], stage)

        answer = self.post(as_lead, season, drawn, verdict="accepted")

        assert answer.url == url("drawing_check", season, following.pk)
        assert drawn.checks.get().verdict == Verdict.ACCEPTED
        answer = self.post(as_lead, season, following, verdict="accepted")
        assert answer.url == url("drawing_queue", season)
        assert "No drawing waits for a check." in as_lead.get(answer.url).content.decode()

    def test_the_queue_begins_with_the_one_that_waited_longest(
        self, as_lead, season, drawn, squares, stage, lead
    ):
        with acting_as(lead):
            make_drawn_square(make_drawing(season), squares[1], stage)
        answer = as_lead.get(url("drawing_queue", season))
        assert answer.url == url("drawing_check", season, drawn.pk)
        assert "1 more waits" in as_lead.get(answer.url).content.decode()

    def test_its_photographs_lie_under_it_in_the_same_window(
        self, as_lead, season, drawn, squares, stage, lead
    ):
        page = url("drawing_check", season, drawn.pk)
        answer = as_lead.get(page)
        assert answer.context["against"].photographs is None
        assert "disabled data-unseen>Accept K7" in answer.text
        window = answer.context["against"].drawing
        WindowToMake.objects.create(key=window.key, window=window.as_json(), words="It is damaged.")
        assert (
            "data-unseen" not in as_lead.get(page).text
        )  # the sheet itself is all there is to see
        with acting_as(lead):
            dive, other = make_dive(make_day(season)), make_stage(season)
            run = make_run(season, grid=squares[0].grid, stage=stage)
            frame = make_frame(make_card(run, dive), 1)
            make_frame(make_card(make_run(season, grid=squares[0].grid, stage=other), dive), 1)

        answer = as_lead.get(page, {"under": "2"})

        against = answer.context["against"]
        assert against.photographs.placement_ids == {frame.placement_id}
        assert against.photographs.box == against.drawing.box
        assert against.photographs.width_px == against.drawing.width_px
        assert 'value="2" checked' in answer.content.decode()
        assert 'value="1" checked' in as_lead.get(page).content.decode()  # faint, unasked

    def test_the_strength_of_the_photograph_is_kept_for_the_next_one(
        self, as_lead, season, drawn, squares, stage, lead
    ):
        with acting_as(lead):
            following = make_drawn_square(make_drawing(season), squares[1], stage)
        there = url("drawing_check", season, following.pk) + "?under=3"
        assert self.post(as_lead, season, drawn, verdict="later", under="3").url == there
        assert not drawn.checks.exists()
        assert self.post(as_lead, season, drawn, verdict="accepted", under="3").url == there

    def test_where_nobody_said_what_is_drawn_the_one_tap_says_it(self, as_lead, season, drawn):
        drawn.extent, drawn.drawing.frame_lies = "", ""
        drawn.drawing.save()
        drawn.save()

        page = as_lead.get(url("drawing_check", season, drawn.pk)).content.decode()
        assert "Accept: the whole square" in page
        assert "Accept K7" not in page
        self.post(as_lead, season, drawn, extent="whole", frame_lies="slope")

        drawn.refresh_from_db()
        assert (drawn.extent, drawn.drawing.frame_lies) == ("whole", "slope")
        assert drawn.checks.get().verdict == Verdict.ACCEPTED
        assert "Accept K7" in as_lead.get(url("drawing_check", season, drawn.pk)).content.decode()

    def test_its_edges_show_the_one_that_is_checked_before_an_accepted_one(
        self, as_lead, season, drawn, squares, stage, lead
    ):
        with acting_as(lead):
            DrawingCheck.objects.create(drawn_square=drawn, verdict="accepted")
            again = make_drawn_square(make_drawing(season), squares[0], stage)
            beside = make_drawn_square(make_drawing(season), squares[1], stage)
        answer = as_lead.get(url("drawing_check", season, again.pk))
        laid = answer.context["against"].edges.window.placement_ids
        assert laid == {again.placement_id, beside.placement_id}

    def test_a_long_queue_asks_no_more_queries(
        self, as_lead, season, drawn, squares, stage, lead, django_assert_max_num_queries
    ):
        page = url("drawing_check", season, drawn.pk)
        as_lead.get(page)
        with CaptureQueriesContext(connection) as alone:
            as_lead.get(page)
        with acting_as(lead):
            for square in squares * 3:
                make_drawn_square(make_drawing(season), square, stage)
        with django_assert_max_num_queries(len(alone) + 1):  # labels of those laid together
            as_lead.get(page)

    def test_two_taps_send_it_back(self, as_lead, season, drawn):
        self.post(as_lead, season, drawn, why="edge")
        check = drawn.checks.get()
        assert (check.verdict, check.why) == (Verdict.REDO, "edge")
        # Another lead's page was drawn before that.
        answer = self.post(as_lead, season, drawn, verdict="accepted")
        assert (answer.status_code, drawn.checks.count()) == (409, 1)
        (told,) = answer.context["form"].stale
        assert (told.label, told.now) == (
            f"checked by {check.made_by}",
            "sent back, edge does not meet its neighbour",
        )
        assert "<details data-key" in answer.content.decode()  # shut: nothing lies over the words
        self.post(as_lead, season, drawn, verdict="accepted", version=2)
        assert drawn.checks.count() == 2

    def test_another_reason_takes_words(self, as_lead, season, drawn):
        answer = self.post(as_lead, season, drawn, why="other", words=" ")
        assert (answer.status_code, drawn.checks.count()) == (422, 0)
        assert "Say why the drawing goes back" in answer.content.decode()
        self.post(as_lead, season, drawn, why="other", words="film is smeared")
        assert drawn.checks.get().words == "film is smeared"

    def test_neither_button_checks_nothing(self, as_lead, season, drawn):
        assert self.post(as_lead, season, drawn).status_code == 422
        page = self.post(as_lead, season, drawn, verdict="none", under="3")  # the enter key
        assert (page.status_code, drawn.checks.count()) == (200, 0)
        assert "error-block" not in page.content.decode()

    def test_the_queue_goes_on_behind_the_one_that_is_put_off(
        self, season, drawn, squares, stage, lead
    ):
        with acting_as(lead):
            second = make_drawn_square(make_drawing(season), squares[1], stage)
            third = make_drawn_square(make_drawing(season), squares[2], stage)
        ahead = [
            next_to_check(season, may_lead=True, after=one.pk) for one in (drawn, second, third)
        ]
        assert ahead == [second, third, drawn]

    def test_a_square_marked_by_mistake_is_taken_off(self, as_lead, season, drawn):
        page = url("drawn_square_void", season, drawn.pk)
        assert as_lead.post(page, {"reason": ""}).status_code == 422
        as_lead.post(page, {"reason": "it is L7"})
        drawn.refresh_from_db()
        assert drawn.void_reason == "it is L7"

    def test_edges_lay_the_best_of_each_square_together(
        self, as_lead, season, drawn, squares, stage, lead
    ):
        with acting_as(lead):
            back = make_drawn_square(make_drawing(season), squares[1], stage)
            DrawingCheck.objects.create(drawn_square=back, verdict="redo", why="edge")
        answer = as_lead.get(url("square_edges", season, squares[1].pk))

        edges = answer.context["edges"]
        assert [one.label for one in edges.squares] == ["K7", "L7", "M7"]
        assert edges.window.placement_ids == {drawn.placement_id}
        assert "sent back: edge does not meet its neighbour" in answer.content.decode()

    def test_edges_take_the_accepted_drawing_before_one_that_waits(
        self, as_lead, season, drawn, squares, stage, lead
    ):
        with acting_as(lead):
            DrawingCheck.objects.create(drawn_square=drawn, verdict="accepted")
            make_drawn_square(make_drawing(season), squares[0], stage)
        edges = as_lead.get(url("square_edges", season, squares[0].pk)).context["edges"]
        assert edges.window.placement_ids == {drawn.placement_id}


class TestOnePage:
    def test_a_reader_sees_the_drawing_and_no_names(self, client, season, drawn):
        drawn.drawing.drawn_by = make_diver(season.site, name="Quiet Person")
        drawn.drawing.save()
        client.force_login(make_member(season.site, Role.READER).account)

        page = client.get(url("drawing", season, drawn.drawing_id)).content.decode()

        assert "K7 waits for a check" in page
        assert "Quiet Person" not in page
        assert "History" not in page

    def test_a_void_one_says_why_and_offers_nothing(self, as_lead, season, drawn):
        as_lead.post(url("drawing_void", season, drawn.drawing_id), {"reason": "twice scanned"})
        page = as_lead.get(url("drawing", season, drawn.drawing_id)).content.decode()
        assert "twice scanned" in page
        assert "Mend what is said" not in page

    def test_what_is_said_can_be_mended(self, crew, season, squares):
        drawing = make_drawing(season)
        page = url("drawing_edit", season, drawing.pk)
        assert crew.get(page).status_code == 200
        crew.post(page, said(version=1, scale="20", squares="L7"))
        drawing.refresh_from_db()
        assert (drawing.scale, drawing.squares_on_sheet) == (20, "L7")

    def test_a_sheet_lying_on_its_side_is_turned(self, crew, season):
        drawing = make_drawing(season)
        crew.post(url("drawing_turn", season, drawing.pk), {"turn": "clockwise"})
        drawing.picture.refresh_from_db()
        assert drawing.picture.orientation == 6

    @pytest.mark.parametrize("turn", TURNED)
    def test_turns_do_to_the_picture_what_they_say(self, turn, season, lead):
        """Pillow turns the upright picture; the new orientation must show the same."""
        from PIL import Image

        from records.intake.decode import upright

        by_hand = {
            "clockwise": Image.Transpose.ROTATE_270,
            "counter-clockwise": Image.Transpose.ROTATE_90,
            "over": Image.Transpose.FLIP_LEFT_RIGHT,
        }[turn]
        file = io.BytesIO(made.encoded(made.pixels(30, 20), "PNG"))
        for before, after in TURNED[turn].items():
            wanted = upright(file, "image/png", before).transpose(by_hand)
            assert upright(file, "image/png", after).tobytes() == wanted.tobytes()


def test_another_sites_drawing_is_not_found(as_lead, season):
    other = make_season()
    with acting_as(make_member(other.site, Role.LEAD).account):
        stage, square = make_stage(other), make_square(make_grid(other.site))
        make_goal(stage, square)
        drawn = make_drawn_square(make_drawing(other), square, stage)
        bring_in_picture(other, io.BytesIO(made.jpeg()), "x")
    for name, key in (
        ("drawing", drawn.drawing_id),
        ("drawing_squares", drawn.drawing_id),
        ("drawn_square_marks", drawn.pk),
        ("drawing_check", drawn.pk),
        ("square_edges", square.pk),
    ):
        assert as_lead.get(url(name, season, key)).status_code == 404
