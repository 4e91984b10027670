"""Traced features: their verbs, their pages, and what leaves in files."""

import json
from dataclasses import replace
from uuid import uuid4
from xml.etree import ElementTree

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from records.acting import acting_as
from records.intake.windows import GridWindow, box_of
from records.models import Outline, Role, kinds_of
from records.queries.frozen import (
    grid_bears_evidence,
    square_bears_evidence_in,
    squares_bear_evidence,
    stage_bears_evidence,
)
from records.queries.outline_desk import placements_under
from records.refusals import Conflict, Refused, Stale, Unlikely
from records.verbs.outlines import (
    OutlineEntry,
    retrace_outline,
    set_outline_kinds,
    trace_outline,
    void_outline,
)
from tests.factory import (
    make_day,
    make_dive,
    make_goal,
    make_grid,
    make_member,
    make_season,
    make_square,
    make_stage,
)
from tests.factory_drawings import make_drawing, make_drawn_square
from tests.factory_pictures import make_card, make_frame, make_run

pytestmark = pytest.mark.django_db

TIMBER = [(0.2, 0.2), (1.7, 0.3), (1.7, 0.6), (0.2, 0.5)]


@pytest.fixture
def season():
    return make_season()


@pytest.fixture
def squares(season, stage):
    """K7, L7 and M7."""
    grid = make_grid(
        season.site, first_column="K", first_row="7", origin_e_m=4711.25, origin_n_m=8822.75
    )
    squares = [make_square(grid, column) for column in range(3)]
    for square in squares:
        make_goal(stage, square)
    return squares


@pytest.fixture
def entry(squares):
    def make(points=TIMBER, **more):
        return OutlineEntry(squares[0].grid, "T", "area", points, **more)

    return make


@pytest.fixture
def outline(crew, stage, entry):
    return trace_outline(stage, entry(label="keel"))


@pytest.fixture
def drawn(season, squares, stage, crew):
    return [make_drawn_square(make_drawing(season), one, stage) for one in squares]


def url(name, season, *more):
    return reverse(name, args=[season.code, *more])


class TestVerbs:
    def test_it_is_kept_with_what_lay_under_it(self, crew, stage, entry, squares, drawn):
        window = GridWindow.of_drawn_together(drawn, box_of(squares[1], 1.0))
        under = placements_under(window, TIMBER)
        outline = trace_outline(stage, entry(traced_over="drawing", placements=under))
        assert outline.squares_under == [(0, 0), (1, 0)]
        assert {one.placement_id for one in outline.sources.all()} == {
            drawn[0].placement_id,
            drawn[1].placement_id,
        }
        assert outline.trace.area_m2 == pytest.approx(0.45)

    def test_sent_twice_it_is_one_and_with_other_points_it_is_told(self, crew, stage, entry):
        key = uuid4()
        assert trace_outline(stage, entry(), key) == trace_outline(stage, entry(), key)
        with pytest.raises(Conflict):
            trace_outline(stage, entry(TIMBER[:3]), key)
        assert Outline.objects.count() == 1

    @pytest.mark.parametrize(
        ("more", "words"),
        [
            ({"points": TIMBER[:2]}, "An area has three points or more; 2 so far."),
            ({"points": []}, "An area has three points or more; 0 so far."),
            ({"points": [(0, 0), (1, 1), (1, 0), (0, 1)]}, "crosses itself"),
            ({"points": [(50, 50), (51, 50), (51, 51)]}, "beside all squares"),
            ({"points": [*TIMBER[:2], (90_000, 0.6)]}, "Point 3 lies more than 500 squares"),
        ],
    )
    def test_what_is_no_feature_is_refused_in_words(self, crew, stage, entry, more, words):
        with pytest.raises(Refused, match=words) as refusal:
            trace_outline(stage, entry(**more))
        assert refusal.value.field == "points"
        assert Outline.objects.count() == 0

    def test_a_slip_far_beside_the_grid_is_asked_about_once(self, crew, stage, entry):
        """200 for 2.00; the squares end at 3, the next one's breadth is let through."""
        slip = entry([(0.2, 0.2), (200, 0.2), (200, 0.5)])
        with pytest.raises(Unlikely) as asked:
            trace_outline(stage, slip)
        words = asked.value.questions["points"]
        assert "2 points lie more" in words
        assert "from x 0.2 to 200 m" in words

        outline = trace_outline(stage, slip, answers={"points": words})
        assert outline.answers["points"]["name"] == crew.name
        again = retrace_outline(outline, replace(slip, label="cable"), 1)
        assert again.answers == outline.answers
        assert retrace_outline(again, entry([*TIMBER, (-0.9, 1.9)]), 2).answers == {}

    def test_a_kind_that_is_not_on_the_list_is_refused(self, crew, stage, squares):
        with pytest.raises(Refused, match="Choose a kind"):
            trace_outline(stage, OutlineEntry(squares[0].grid, "ZZ", "area", TIMBER))

    def test_traced_again_it_keeps_its_history_and_minds_others(self, outline, entry):
        again = retrace_outline(outline, entry(TIMBER[:3], label="keel"), 1)
        assert (again.version, again.history.count()) == (2, 2)
        with pytest.raises(Stale):
            retrace_outline(outline, entry(), 1)

    def test_a_lead_makes_it_void_and_then_it_stays(self, season, outline, entry):
        with acting_as(make_member(season.site, Role.LEAD).account):
            void_outline(outline, "twice")
            with pytest.raises(Conflict):
                retrace_outline(outline, entry(), None)

    def test_what_it_lies_on_stays(self, season, squares, stage, outline):
        assert grid_bears_evidence(squares[0].grid)
        assert stage_bears_evidence(stage)
        assert squares_bear_evidence(squares[1:])
        assert not squares_bear_evidence(squares[2:])
        assert square_bears_evidence_in(stage, squares[0])
        assert not square_bears_evidence_in(make_stage(season), squares[0])

    def test_another_sites_grid_is_refused(self, crew, stage):
        other = make_grid(make_season().site)
        with pytest.raises(Refused):
            trace_outline(stage, OutlineEntry(other, "T", "area", TIMBER))


class TestKinds:
    @pytest.fixture(autouse=True)
    def director(self, season, outline):
        with acting_as(make_member(season.site, Role.DIRECTOR).account):
            yield

    def test_the_list_grows_and_each_keeps_its_look(self, season):
        before = {one.letters: one.number for one in kinds_of(season.site)}
        told = [("S", "shell"), ("T", "timbers"), ("R", "rock")]
        after = {one.letters: one for one in kinds_of(set_outline_kinds(season.site, told, 1))}
        assert after["T"].number == before["T"]
        assert after["T"].name == "timbers"
        assert after["S"].number not in (before["T"], before["R"])

    @pytest.mark.parametrize(
        ("kinds", "words"),
        [
            ([("R", "rock")], "kind T are recorded"),
            ([("T", "timber"), ("T", "tin")], "T stands on the list twice"),
            ([("T", "timber"), ("S", "Timber")], "timber stands on the list twice"),
            ([("T", "timber"), ("SHL", "shell")], "one or two letters"),
            ([("T", "")], "one or two letters"),
            ([], "Keep between 1 and 12"),
        ],
    )
    def test_what_cannot_be_told_apart_is_refused(self, season, kinds, words):
        with pytest.raises(Refused, match=words):
            set_outline_kinds(season.site, kinds, None)


@pytest.fixture
def as_crew(client, crew):
    client.force_login(crew)
    return client


def sent(squares, points=TIMBER, **more):
    told = "\n".join(f"{x} {y}" for x, y in points)
    usual = {"id": uuid4(), "at": squares[0].pk, "shape": "area", "kind": "T", "points": told}
    return usual | more


class TestTracing:
    def test_without_script_points_are_typed(self, as_crew, season, squares, stage, drawn):
        page = url("outline_new", season, squares[0].pk)
        desk = as_crew.get(page).context["desk"]
        form = sent(squares, label="keel", traced_over=desk.over, window=desk.window.token)

        answer = as_crew.post(page, form)

        outline = Outline.objects.get()
        assert answer.url == url("outline", season, outline.pk)
        assert (outline.stage, outline.label, outline.traced_over) == (stage, "keel", "drawing")
        assert outline.sources.count() == 2
        told = as_crew.get(answer.url).content.decode()
        assert "T 1, keel is kept: it runs across K7, L7." in told
        assert "0.45 m², 3.61 m round" in told

    def test_going_to_the_neighbour_keeps_what_is_traced(self, as_crew, season, squares):
        page = url("outline_new", season, squares[0].pk)
        answer = as_crew.post(page, sent(squares, go="right", label="keel"))
        assert answer.context["desk"].square == squares[1]
        assert "0.2 0.2\n1.7 0.3" in answer.context["form"]["points"].value()
        assert 'value="keel"' in answer.content.decode()
        assert Outline.objects.count() == 0
        answer = as_crew.post(page, sent(squares, go="up"))  # nothing lies there: it stays
        assert answer.context["desk"].square == squares[0]

    def test_it_goes_over_the_photographs_where_asked(self, as_crew, season, squares, stage, drawn):
        with acting_as(make_member(season.site, Role.LEAD).account):
            run = make_run(season, grid=squares[0].grid, stage=stage)
            make_frame(make_card(run, make_dive(make_day(season))), 1)
        page = url("outline_new", season, squares[0].pk)
        desk = as_crew.get(page).context["desk"]
        assert (desk.over, desk.under) == ("drawing", desk.windows["photographs"])
        desk = as_crew.post(page, sent(squares, over="photographs")).context["desk"]
        assert (desk.over, desk.under) == ("photographs", desk.windows["drawing"])
        assert desk.window.box == desk.under.box

    @pytest.mark.parametrize("points", ["1 2 3", "x y", "1e9 0", "nan 1"])
    def test_a_line_that_is_no_point_is_told(self, as_crew, season, squares, points):
        page = url("outline_new", season, squares[0].pk)
        answer = as_crew.post(page, sent(squares) | {"points": points})
        assert answer.status_code == 422
        assert "is no point" in answer.content.decode()

    def test_commas_do_as_well(self, as_crew, season, squares):
        page = url("outline_new", season, squares[0].pk)
        as_crew.post(page, sent(squares) | {"points": "0,2 0,2\n1,7; 0,3\n1,7 0,6"})
        assert Outline.objects.get().points_m == [[0.2, 0.2], [1.7, 0.3], [1.7, 0.6]]

    def test_what_was_asked_is_answered_on_the_page_and_told(self, as_crew, season, squares):
        page = url("outline_new", season, squares[0].pk)
        form = sent(squares, [*TIMBER[:2], (0.2, 60)])
        asked = as_crew.post(page, form)
        question = asked.context["form"].questions["points"]
        assert asked.status_code == 422
        assert 'name="answer_points"' in asked.content.decode()
        told = as_crew.post(page, form | {"answer_points": question}, follow=True)
        assert "Asked and confirmed" in told.content.decode()

    def test_a_window_that_nobody_gave_out_is_no_source(self, as_crew, season, squares):
        page = url("outline_new", season, squares[0].pk)
        as_crew.post(page, sent(squares, window="made-up", traced_over="drawing"))
        assert (Outline.objects.get().traced_over, Outline.objects.get().sources.count()) == ("", 0)

    def test_traced_again_it_is_the_same_record(self, as_crew, season, squares, outline):
        page = url("outline_edit", season, outline.pk)
        form = as_crew.get(page).context["form"]
        assert form["points"].value().startswith("0.2000 0.2000\n1.7000")
        as_crew.post(page, sent(squares, TIMBER[:3], id=outline.pk, version=1))
        outline = Outline.objects.get()
        assert len(outline.points_m) == 3
        assert as_crew.post(page, sent(squares, id=outline.pk, version=1)).status_code == 409


class TestShown:
    def test_square_and_plan_show_it_and_its_neighbour_too(self, as_crew, season, squares, outline):
        grid = squares[0].grid
        for place, there in (("K7", True), ("L7", True), ("M7", False)):
            page = as_crew.get(url("square", season, grid.code, place)).content.decode()
            assert (f'data-outline="{outline.pk}"' in page) == there, place
        hidden = as_crew.get(url("square", season, grid.code, "K7"), {"hide": "features"})
        assert "data-outline" not in hidden.content.decode()
        assert f'data-outline="{outline.pk}"' in as_crew.get(url("plan", season)).content.decode()

    def test_it_lies_on_the_square_where_it_was_traced(self, as_crew, season, squares, outline):
        page = as_crew.get(url("square", season, squares[0].grid.code, "K7"))
        # 0.2 m from the corner nearest −x −y: 50 of margin + 200 to the right, 800 down.
        assert page.context["outline_shapes"][0].path.startswith("M250.0 850.0L1750.0 750.0")

    def test_pages_ask_as_many_queries_for_many(
        self, as_crew, season, squares, stage, entry, outline, django_assert_max_num_queries
    ):
        code = squares[0].grid.code
        pages = [url("outlines", season), url("plan", season), url("square", season, code, "K7")]
        few = []
        for page in pages:
            as_crew.get(page)
            with CaptureQueriesContext(connection) as seen:
                as_crew.get(page)
            few.append(len(seen))
        for _again in range(5):
            trace_outline(stage, entry())
        for page, most in zip(pages, few, strict=True):
            with django_assert_max_num_queries(most):
                as_crew.get(page)

    def test_the_list_narrows_to_a_square_and_a_stage(self, as_crew, season, squares, outline):
        other = make_stage(season)
        for asked, there in (
            ({"square": "L7"}, 1),
            ({"square": "M7"}, 0),
            ({"stage": outline.stage.order}, 1),
            ({"stage": other.order}, 0),
        ):
            answer = as_crew.get(url("outlines", season), {"grid": squares[0].grid.code} | asked)
            assert len(answer.context["shown"]) == there, asked
            assert (f'data-outline="{outline.pk}"' in answer.content.decode()) == there, asked
        assert as_crew.get(url("outlines", season), {"square": "ZZ99"}).status_code == 404


class TestFiles:
    @pytest.fixture
    def as_reader(self, client, season):
        client.force_login(make_member(season.site, Role.READER).account)
        return client

    def test_geojson_is_in_grid_coordinates_and_says_so(self, as_reader, season, outline):
        answer = as_reader.get(url("outlines_geojson", season))
        file = json.loads(answer.content)

        assert answer["Content-Type"].startswith("application/geo+json")
        (feature,) = file["features"]
        assert feature["geometry"]["coordinates"][0] == [
            *([list(point) for point in TIMBER]),
            [0.2, 0.2],
        ]
        assert feature["id"] == str(outline.pk)
        assert feature["properties"]["kind_name"] == "timber"
        assert feature["properties"]["squares"] == ["K7", "L7"]
        assert "not longitude and latitude" in file["grid_coordinates"]["note"]
        assert "4711" not in answer.content.decode()
        assert outline.made_by.name not in answer.content.decode()

    def test_svg_is_at_scale(self, as_reader, season, outline):
        answer = as_reader.get(url("outlines_svg", season), {"scale": "20", "square": "K7"})
        root = ElementTree.fromstring(answer.content)
        (k7, l7) = root.findall("{http://www.w3.org/2000/svg}rect")[1:]
        assert float(k7.get("width")) == 50.0
        assert float(l7.get("x")) - float(k7.get("x")) == 50.0
        assert 'filename="' in answer["Content-Disposition"]
        assert as_reader.get(url("outlines_svg", season), {"scale": "7"}).status_code == 404

    def test_void_ones_stay_on_the_list_and_out_of_the_files(
        self, as_reader, season, outline, entry
    ):
        with acting_as(make_member(season.site, Role.LEAD).account):
            void_outline(outline, "traced twice")
            mark = [[0.5, 0.5], [0.6, 0.5], [0.6, 0.52]]
            trace_outline(outline.stage, entry(mark))
        page = as_reader.get(url("outlines", season)).content.decode()
        assert "traced twice" in page
        for told in ("T 1", "T 2", "10 cm²"):  # a void one keeps its number
            assert told in page
        (feature,) = json.loads(as_reader.get(url("outlines_geojson", season)).content)["features"]
        assert feature["properties"]["number"] == 2
        assert ">T 2</text>" in as_reader.get(url("outlines_svg", season)).content.decode()
