"""The plan of a grid: what is missing is counted, drawn, listed and told, whatever its size."""

import gzip
import re
from datetime import timedelta

import pytest
from django.db import connection
from django.template.loader import render_to_string
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import translation

from records.acting import acting_as
from records.archive.registers import Viewer
from records.models import DiveTask, Fix, Method, Role, Square, SquareException, SquareGoal
from records.queries.evidence import Drawn, Evidence, Excepted, MethodState, Said
from records.queries.finds import finds_on_grid
from records.queries.missing import FILTER_OF, Counts, count, report_of
from records.queries.plan import draw_plan
from records.queries.squares import SquareState, grids_of, states_of
from records.verbs.guard import void
from tests.factory import (
    make_account,
    make_day,
    make_dive,
    make_find,
    make_goal,
    make_grid,
    make_member,
    make_season,
    make_square,
    make_stage,
)
from tests.factory_pictures import make_card, make_drawn, make_frame, make_run


def marks(grid, season, role):
    return finds_on_grid(grid, None, Viewer(season, role))


def counts(**fields):
    usual = {
        "wanted": 0,
        "recorded": 0,
        "drawing": 0,
        "photographs": 0,
        "both": 0,
        "excepted": 0,
        "every_square_both_ways": True,
    }
    return Counts(**usual | fields)


@pytest.mark.parametrize(
    ("counted", "sentence"),
    [
        (counts(), "Nothing is wanted of these squares yet."),
        (
            counts(wanted=60, recorded=31, drawing=12, photographs=9, both=8),
            "31 of 60 squares are recorded both ways; 12 want a drawing, 9 photographs, 8 both.",
        ),
        (
            counts(wanted=60, recorded=28, drawing=12, photographs=9, both=8, excepted=3),
            "28 of 60 squares are recorded both ways, 3 are excepted; "
            "12 want a drawing, 9 photographs, 8 both.",
        ),
        (
            counts(wanted=15, recorded=14, drawing=1, every_square_both_ways=False),
            "14 of 15 squares are recorded as wanted; 1 wants a drawing.",
        ),
        (counts(wanted=8, both=8), "None of 8 squares is recorded yet; 8 want both."),
        (counts(wanted=1, both=1), "The 1 square is not recorded yet; 1 wants both."),
        (
            counts(wanted=8, recorded=7, excepted=1),
            "Nothing is missing: 7 of 8 squares are recorded both ways, 1 is excepted.",
        ),
        (
            counts(wanted=8, recorded=8, to_check=1),
            "Nothing is missing: 8 of 8 squares are recorded both ways. "
            "1 square has a drawing that waits for a check.",
        ),
    ],
)
def test_the_answer_is_one_sentence(counted, sentence):
    assert counted.sentence == sentence


UNDER = Excepted("under an object", "the gun")
NOT_WANTED, WANTED = Evidence(), Evidence(wanted=True)
DRAWN = Evidence(wanted=True, drawn=(Drawn(whole=True, accepted=True),))
COVERED = Evidence(wanted=True, covered_fraction=1.0)
PART = Evidence(wanted=True, covered_fraction=0.5)
EXCEPTED = Evidence(wanted=True, exception=UNDER)
SAID_DONE = Evidence(wanted=True, said=Said("done", 3))
DRAWN_TO_CHECK = Evidence(wanted=True, drawn=(*DRAWN.drawn, Drawn(whole=True, n=52)))
EXCEPTED_TO_CHECK = Evidence(wanted=True, exception=UNDER, drawn=(Drawn(whole=True, n=44),))
CARD_COMES = Evidence(wanted=True, covered_fraction=1.0, frames_wait=True)


def state(drawing, photographs, grid=None, column=0, row=0):
    return SquareState(
        id=None,
        grid=grid,
        column=column,
        row=row,
        label="K7",
        stage=None,
        goal=None,
        drawing=MethodState.read(Method.DRAWING, drawing),
        photographs=MethodState.read(Method.PHOTOGRAPHS, photographs),
    )


@pytest.mark.parametrize(
    ("drawing", "photographs", "missing", "recorded", "marks"),
    [
        (NOT_WANTED, NOT_WANTED, "", False, ()),
        (WANTED, WANTED, "both", False, ("f-want", "d-want")),
        (WANTED, NOT_WANTED, "drawing", False, ("d-want",)),
        (SAID_DONE, WANTED, "both", False, ("f-want", "d-want", "d-said")),
        (DRAWN, WANTED, "photographs", False, ("f-want", "d-done")),
        (DRAWN, PART, "photographs", False, ("f-2", "f-edge", "d-done")),
        (DRAWN, COVERED, "", True, ("f-done", "d-done")),
        (DRAWN, NOT_WANTED, "", True, ("d-done",)),
        (DRAWN, EXCEPTED, "", False, ("f-bar", "d-done")),
        (EXCEPTED, WANTED, "photographs", False, ("f-want", "d-bar")),
        (EXCEPTED, EXCEPTED, "", False, ("f-bar", "d-bar")),
        (
            EXCEPTED_TO_CHECK,
            CARD_COMES,
            "",
            False,
            ("f-done", "f-edge", "d-begun", "d-bar"),
        ),
        (DRAWN_TO_CHECK, EXCEPTED, "", False, ("f-bar", "d-done", "d-edge")),
        (
            Evidence(wanted=True, drawn=(Drawn(whole=True),)),
            Evidence(wanted=True, frames_wait=True),
            "both",
            False,
            ("f-1", "f-edge", "d-begun"),
        ),
        (
            Evidence(wanted=True, drawn=(Drawn(whole=True, accepted=False),)),
            COVERED,
            "drawing",
            False,
            ("f-done", "d-back"),
        ),
    ],
)
def test_evidence_shows_as_texture_and_as_what_is_missing(
    drawing, photographs, missing, recorded, marks
):
    square = state(drawing, photographs)

    assert (square.missing, square.is_recorded) == (missing, recorded)
    assert square.texture.marks == marks


def test_every_wanted_square_is_counted_once():
    squares = [
        state(NOT_WANTED, NOT_WANTED),
        state(DRAWN_TO_CHECK, COVERED),
        state(WANTED, COVERED),
        state(DRAWN, PART),
        state(WANTED, SAID_DONE),
        state(EXCEPTED_TO_CHECK, COVERED),
        state(EXCEPTED, WANTED),
    ]
    to_check = [squares[1], squares[5]]

    assert count(squares) == counts(
        wanted=6, recorded=1, drawing=1, photographs=2, both=1, excepted=1, to_check=2
    )
    assert report_of(squares).to_check == to_check
    assert [one for one in squares if FILTER_OF["check"].picks(one)] == to_check


@pytest.fixture
def season(db):
    return make_season()


@pytest.fixture
def sign_in(client, season):
    def as_(role):
        account = make_member(season.site, role).account
        client.force_login(account, backend="records.sign_in.PasswordBackend")
        return account

    return as_


def fill(season, columns, rows, **grid):
    """A grid of wanted squares, every third said done, every seventh with an exception."""
    lead = make_member(season.site, Role.LEAD, account=make_account("Tamsin Holt")).account
    grid = make_grid(season.site, **{"first_column": "K", "first_row": "7"} | grid)
    squares = Square.objects.bulk_create(
        Square(grid=grid, column=column, row=row)
        for column in range(columns)
        for row in range(rows)
    )
    stage = make_stage(season, order=1, name="as found")
    goals = SquareGoal.objects.bulk_create(SquareGoal(stage=stage, square=one) for one in squares)
    dive = make_dive(make_day(season))
    DiveTask.objects.bulk_create(
        DiveTask(dive=dive, square=one, stage=stage, method="drawing", outcome="done")
        for one in squares[::3]
    )
    SquareException.objects.bulk_create(
        SquareException(
            goal=one, method="photographs", kind="not_reached", reason="surge", made_by=lead
        )
        for one in goals[::7]
    )
    return grid, stage, squares


@pytest.mark.django_db
class TestStates:
    def test_a_squares_present_stage_is_the_latest_open_for_it(self, season):
        grid = make_grid(season.site)
        first, second = make_square(grid, 0, 0), make_square(grid, 1, 0)
        unopened = make_square(grid, 2, 0)
        found = make_stage(season, order=1)
        cleaned = make_stage(season, order=2)
        make_goal(found, first), make_goal(found, second)
        make_goal(cleaned, second, photographs_wanted=False)
        make_goal(make_stage(make_season(season.site), order=3), first)

        by_id = {one.id: one for one in states_of(season, [grid])}
        assert by_id[first.pk].stage == found
        assert by_id[second.pk].stage == cleaned
        assert by_id[second.pk].missing == "drawing"
        assert by_id[unopened.pk].stage is None
        assert [one.missing for one in states_of(season, [grid], found)] == ["both", "both", ""]

    def test_a_divers_word_counts_for_its_stage_and_the_latest_counts(self, season):
        grid, stage, squares = fill(season, 2, 2)
        later = make_dive(make_day(season, vessel="Tern"))
        tasks = [
            DiveTask(dive=later, square=squares[0], stage=stage, method="drawing", outcome="part"),
            DiveTask(
                dive=later, square=squares[1], stage=stage, method="drawing", outcome="not_reached"
            ),
        ]
        later.left_surface_at = later.reached_surface_at.replace(hour=15)
        later.reached_surface_at = later.reached_surface_at.replace(hour=16)
        later.save()
        for task in tasks:
            task.save()

        words = {one.id: one.drawing for one in states_of(season, [grid])}
        assert words[squares[0].pk].words == "drawing wanted"
        assert words[squares[0].pk].divers_words == f"divers: part done (dive {later.n})"
        assert words[squares[1].pk].asks_the_lead

    def test_what_the_season_wants_over_all_grids(self, season, django_assert_max_num_queries):
        fill(season, 3, 2)
        other = make_grid(season.site)
        make_goal(make_stage(season, order=2), make_square(other), drawing_wanted=False)

        with django_assert_max_num_queries(8):
            states = states_of(season, grids_of(season.site))
        assert count(states).sentence == (
            "None of 7 squares is recorded yet; 1 wants a drawing, 1 photographs, 5 both."
        )

    def test_the_report_tells_exceptions_apart(self, season):
        grid, _stage, _squares = fill(season, 4, 2)

        report = report_of(states_of(season, [grid]))

        assert [len(group.squares) for group in report.groups] == [2, 0, 6]
        assert [one.label for one in report.groups[2].said_drawn] == ["L8", "N7"]
        assert report.groups[2].with_remarks == []
        assert [one.label for one in report.groups[0].with_remarks] == ["K7", "N8"]
        assert [one.square.label for one in report.exceptions] == ["K7", "N8"]
        assert report.exceptions[0].exception.reason == "surge"


@pytest.mark.django_db
class TestSources:
    """What stands in the records becomes evidence, and nothing else does."""

    @pytest.fixture
    def wanted(self, season):
        square, stage = make_square(make_grid(season.site)), make_stage(season, order=1)
        make_goal(stage, square)
        return square, stage

    def read(self, wanted):
        square, stage = wanted
        return states_of(stage.season, [square.grid])[0]

    @pytest.mark.parametrize(
        ("verdicts", "extent", "words"),
        [
            ((), "whole", "drawing {n} waits for a check"),
            (("accepted",), "whole", "drawn"),
            (("accepted",), "part", "drawing begun"),
            ((), "", "drawing {n} waits for a check"),
            (("accepted",), "", "drawing begun"),
            (("redo",), "whole", "drawing sent back: no levels"),
            (("accepted", "redo"), "whole", "drawing sent back: no levels"),
            (("redo", "accepted"), "whole", "drawn"),
        ],
    )
    def test_the_latest_check_of_a_drawing_counts(self, wanted, verdicts, extent, words):
        drawn = make_drawn(*wanted, *verdicts, extent=extent)

        assert self.read(wanted).drawing.words == words.format(n=drawn.drawing.n)

    def test_a_voided_drawing_and_another_stages_are_no_evidence(self, season, wanted):
        square, _stage = wanted
        with acting_as(make_member(season.site, Role.LEAD).account):
            void(make_drawn(*wanted, "accepted"), "another square")
            void(make_drawn(*wanted, "accepted").drawing, "a copy")
        make_drawn(square, make_stage(season, order=9), "accepted")

        assert self.read(wanted).drawing.words == "drawing wanted"

    def test_kept_frames_count_by_what_they_cover(self, season, wanted):
        square, stage = wanted
        with acting_as(make_member(season.site, Role.LEAD).account):
            run = make_run(season, stage=stage, grid=square.grid)
        card = make_card(run, state="accepted")

        make_frame(card, 1)  # 1.5 m by 1 m around (0.5, 0.5): the whole square

        assert self.read(wanted).photographs.words == "photographed"

    def test_frames_of_a_card_that_is_arriving_wait(self, season, wanted):
        square, stage = wanted
        with acting_as(make_member(season.site, Role.LEAD).account):
            run = make_run(season, stage=stage, grid=square.grid)
        card = make_card(run)
        DiveTask.objects.create(
            dive=card.dive, square=square, stage=stage, method="photographs", outcome="done"
        )

        assert self.read(wanted).photographs.words == "photographs wait to be accepted"

    def test_a_pair_that_did_not_start_leaves_the_last_word_standing(self, season, wanted):
        square, stage = wanted
        day = make_day(season)
        for n, outcome in enumerate(["part", "not_started"]):
            dive = make_dive(day)
            dive.left_surface_at += timedelta(hours=n)
            dive.reached_surface_at = None
            dive.save()
            DiveTask.objects.create(
                dive=dive, square=square, stage=stage, method="drawing", outcome=outcome
            )

        assert self.read(wanted).drawing.divers_words == "divers: part done (dive 1)"

    def test_a_voided_dives_word_is_not_heard(self, season, wanted):
        square, stage = wanted
        dive = make_dive(make_day(season))
        task = DiveTask.objects.create(
            dive=dive, square=square, stage=stage, method="drawing", outcome="done"
        )
        assert self.read(wanted).is_said_done
        with acting_as(make_member(season.site, Role.LEAD).account):
            void(dive, "logged twice")

        assert task.voided_at is None
        assert not self.read(wanted).is_said_done


@pytest.mark.django_db
class TestDrawing:
    def test_columns_run_right_and_rows_up_from_negative_ones(self, season):
        grid = make_grid(season.site, first_column="K", first_row="7")
        for column, row in [(-2, -1), (0, 0), (3, 4)]:
            make_square(grid, column, row)

        plan = draw_plan(grid, states_of(season, [grid]))

        assert [(cell.name, cell.x, cell.y) for cell in plan.cells] == [
            ("I6", 0, 100),
            ("K7", 40, 80),
            ("N11", 100, 0),
        ]
        assert [label.text for label in plan.columns] == ["I", "K", "N"]
        assert [label.text for label in plan.rows] == ["6", "7", "11"]
        assert [label.x for label in plan.columns] == [10, 50, 110]

    @pytest.mark.parametrize(
        ("lies", "turn_deg"),
        [
            ({"bearing_deg": 0}, 0),
            ({"bearing_deg": 35}, 325),  # up is 35° east of north, so north lies 35° to the left
            ({"bearing_deg": 270}, 90),
            ({"bearing_deg": 35, "slope_deg": 90}, 0),
            ({"bearing_deg": 35, "slope_deg": -80}, 180),
        ],
    )
    def test_the_arrow_points_north_or_up_a_wall(self, season, lies, turn_deg):
        grid = make_grid(season.site, **lies)
        make_square(grid)

        plan = draw_plan(grid, states_of(season, [grid]))

        assert plan.arrow.turn_deg == pytest.approx(turn_deg)

    def test_finds_stand_as_crosses_where_they_lie(self, season):
        grid = make_grid(season.site, side_m=2, first_column="K")
        for column, row in [(-1, 0), (1, 1)]:
            make_square(grid, column, row)
        measured = make_find(season, square=grid.squares.get(column=1, row=1), where_in_words="")
        hidden = make_find(season, restriction="human_remains", square=grid.squares.first())
        make_find(season, square=grid.squares.first())  # not measured yet
        for find, x_m, y_m in [(measured, 2.5, 3.0), (hidden, -1.0, 1.0)]:
            Fix.objects.create(find=find, grid=grid, x_m=x_m, y_m=y_m, sigma_m=0.02)
        plan = draw_plan(grid, states_of(season, [grid]))

        seen = {
            role: [(one.n, one.x, one.y) for one in plan.crosses(marks(grid, season, role))]
            for role in (Role.READER, Role.LEAD)
        }

        # 10 units a metre from the left edge at −2 m and down from the top at 4 m
        assert seen[Role.READER] == [(1, 45.0, 10.0)]
        assert seen[Role.LEAD] == [(1, 45.0, 10.0), (2, 10.0, 30.0)]

    def test_coordinates_keep_their_point_where_numbers_have_a_comma(self, season):
        grid = make_grid(season.site, bearing_deg=12.5, side_m=0.5)
        make_square(grid)
        plan = draw_plan(grid, states_of(season, [grid]))

        with translation.override("de"):
            svg = render_to_string("squares/_svg.html", {"plan": plan})

        numbers = re.findall(r' (?:viewBox|x|y|font-size|transform|d)="([^"]*)"', svg)
        assert len(numbers) > 10
        assert not any("," in one for one in numbers)
        assert ">0,2 m<" in svg

    @pytest.mark.parametrize(("columns", "rows"), [(1, 1), (10, 6), (40, 25), (3, 60), (90, 2)])
    @pytest.mark.parametrize("side_m", [0.5, 1, 2])
    def test_everything_stands_on_the_sheet(self, season, columns, rows, side_m):
        grid = make_grid(season.site, side_m=side_m)
        squares = [
            state(WANTED, WANTED, grid, column, row)
            for column in range(columns)
            for row in range(rows)
        ]

        plan = draw_plan(grid, squares)

        left, top, wide, high = map(float, plan.view_box.split())
        for label in [*plan.columns, *plan.rows]:
            assert left <= label.x <= left + wide
            assert top <= label.y <= top + high
        assert plan.bar.length == pytest.approx(plan.bar.metres * 20 / side_m)
        assert plan.bar.length <= max(20, columns * 20)
        assert plan.bar.y + plan.letter <= top + high
        assert plan.arrow.x + plan.arrow.length / 2 <= left + wide


@pytest.mark.django_db
class TestPages:
    def test_queries_do_not_grow_with_the_grid(self, client, season, sign_in):
        sign_in(Role.LEAD)
        larger = make_season(season.site)
        fill(season, 5, 3, code="P")
        fill(larger, 16, 10, code="W")

        def asked(page, of, query):
            with CaptureQueriesContext(connection) as caught:
                assert client.get(reverse(page, args=[of.code]) + query).status_code == 200
            return len(caught)

        for page in ("plan", "plan_report", "square_card"):
            for query in ("?at=0,0", "?at=0,0&view=table", "?at=0,0&only=both"):
                few = asked(page, season, query)
                assert asked(page, larger, f"{query}&grid=W") == few <= 20, (page, query)

    def test_a_thousand_squares_weigh_little(self, client, season, sign_in):
        fill(season, 40, 25)
        sign_in(Role.CREW)

        for query in ("", "?view=table", "?only=said"):
            with CaptureQueriesContext(connection) as caught:
                page = client.get(reverse("plan", args=[season.code]) + query)

            assert page.content.count(b"data-c=") in (1000, 0), query
            assert len(gzip.compress(page.content, 6)) <= 150_000, query
            assert len(caught) <= 20, query

    def test_the_plan_says_its_answer_and_shows_what_is_asked_for(self, client, season, sign_in):
        fill(season, 4, 2)
        sign_in(Role.READER)

        page = client.get(reverse("plan", args=[season.code]) + "?only=drawing").content.decode()

        assert "None of 8 squares is recorded yet; 2 want a drawing, 6 want both." in page
        assert len(re.findall(r'<g class="q-back" data-c', page)) == 6
        assert 'data-l="K7" data-w="drawing wanted, said done by divers; no photographs' in page
        assert "/stages" not in page

    def test_the_table_says_the_same_in_words(self, client, season, sign_in):
        fill(season, 4, 2)
        sign_in(Role.READER)

        url = reverse("plan", args=[season.code]) + "?view=table&only=exceptions"
        page = client.get(url).content.decode()

        assert re.findall(r">([A-Z]\d+)</a></th>", page) == ["K7", "N8"]
        assert page.count("no photographs (could not be reached)") == 2

    def test_a_card_is_a_fragment_for_the_plan_and_a_page_by_itself(self, client, season, sign_in):
        _grid, stage, squares = fill(season, 4, 2)
        goal = squares[0].goals.get()
        sign_in(Role.LEAD)
        url = reverse("square_card", args=[season.code]) + "?at=0,0"

        page = client.get(url).content.decode()
        fragment = client.get(url, headers={"HX-Request": "true"}).content.decode()

        assert "<html" in page
        assert fragment.lstrip().startswith("<section")
        for text in (page, fragment):
            assert "K7" in text
            assert stage.name in text
            assert "surge" in text
            assert "drawing: done" in text
            assert reverse("goal", args=[season.code, goal.pk]) in text

    @pytest.mark.parametrize(("role", "sees"), [(Role.READER, False), (Role.CREW, True)])
    @pytest.mark.parametrize("name", ["square_card", "plan_report"])
    def test_readers_are_not_told_who_accepted_an_exception(
        self, client, season, sign_in, name, role, sees
    ):
        fill(season, 2, 1)
        sign_in(role)

        page = client.get(reverse(name, args=[season.code]) + "?at=0,0").content.decode()

        assert "surge" in page
        assert ("Tamsin Holt" in page) is sees

    @pytest.mark.parametrize(
        "query", ["?grid=none", "?stage=9", "?stage=x", "?grid=P&stage=9", "?at=99,99"]
    )
    def test_what_is_not_there_is_not_found(self, client, season, sign_in, query):
        fill(season, 2, 1)
        sign_in(Role.READER)
        page = "square_card" if "at" in query else "plan"

        assert client.get(reverse(page, args=[season.code]) + query).status_code == 404

    def test_a_site_without_a_grid_says_who_plans_it(self, client, season, sign_in):
        sign_in(Role.DIRECTOR)

        page = client.get(reverse("plan", args=[season.code]))

        assert page.status_code == 200
        assert reverse("grid_new", args=[season.code]) in page.content.decode()

    def test_another_sites_season_is_not_found(self, client, season):
        fill(season, 2, 1)
        stranger = make_member(make_season().site, Role.DIRECTOR).account
        client.force_login(stranger, backend="records.sign_in.PasswordBackend")

        for page in ("plan", "plan_report", "square_card", "stages", "grids"):
            assert client.get(reverse(page, args=[season.code])).status_code == 404
