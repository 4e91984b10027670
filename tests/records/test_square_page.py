"""The page of one square: what it shows to whom, its choices, its one button and its log."""

import re
from datetime import timedelta
from html import unescape
from urllib.parse import parse_qs, urlsplit

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from records.acting import acting_as
from records.models import (
    Card,
    CardState,
    DiveTask,
    DrawingCheck,
    FindPicture,
    Fix,
    Membership,
    Restriction,
    Role,
    SeasonEvent,
    SeasonEventKind,
)
from records.queries.square_overlay import overlay_of
from records.queries.square_panes import window_of
from records.verbs.tower import RowEntry
from tests.factory import (
    make_day,
    make_dive,
    make_dive_member,
    make_diver,
    make_exception,
    make_find,
    make_goal,
    make_grid,
    make_member,
    make_season,
    make_square,
    make_stage,
)
from tests.factory_pictures import (
    make_card,
    make_drawn,
    make_frame,
    make_photograph,
    make_run,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def season():
    return make_season()


@pytest.fixture
def lead(season):
    return make_member(season.site, Role.LEAD)


@pytest.fixture
def grid(season):
    return make_grid(season.site, code="P", first_column="K", first_row="7", bearing_deg=10)


@pytest.fixture
def square(grid):
    return make_square(grid, 0, 0)


@pytest.fixture
def stage(season):
    return make_stage(season, order=1, name="as found")


@pytest.fixture
def goal(stage, square):
    return make_goal(stage, square)


@pytest.fixture
def look(client, season):
    """The page as somebody of a role sees it."""
    members: dict[str, Membership] = {}

    def open_(place="K7", query="", role=Role.LEAD, of=season, grid="P"):
        member = members.get(role) or members.setdefault(role, make_member(season.site, role))
        client.force_login(member.account, "records.sign_in.PasswordBackend")
        return client.get(reverse("square", args=[of.code, grid, place]) + query)

    return open_


def photographed(stage, grid, *stations, start_x_m=0.5, step_m=1.0, count=6, card=None):
    """Kept frames of 1.5 × 1 m over the first row of squares."""
    with acting_as(make_member(stage.season.site, Role.LEAD).account):
        if card is None:
            row = RowEntry(start_x_m, 0.5, 0.0, step_m, count)
            card = make_card(make_run(stage.season, row, stage=stage, grid=grid))
        return [make_frame(card, station) for station in stations]


def text_of(answer):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", answer.content.decode()))


def log_of(answer):
    return [event.words for event in answer.context["page"].log]


class TestFound:
    @pytest.mark.usefixtures("goal")
    def test_by_label_and_by_column_and_row(self, look):
        for place in ("K7", "k7", "P K7", "0,0"):
            assert look(place).context["state"].label == "K7", place

    def test_by_corner_label(self, look, season, stage):
        grid = make_grid(
            season.site, code="H", label_style="corner", first_column="104", first_row="212"
        )
        make_goal(stage, make_square(grid, 1, -2))

        assert look("105/210", grid="H").context["state"].place == "105/210"

    @pytest.mark.usefixtures("goal")
    @pytest.mark.parametrize("place", ["L7", "1,0", "K0", "nothing", "1,2,3", "99999999999999,1"])
    def test_what_is_not_there_is_not_found(self, look, place):
        assert look(place).status_code == 404

    @pytest.mark.usefixtures("goal")
    def test_nor_is_another_grid_or_a_stage_that_is_none(self, look):
        assert look(grid="Q").status_code == 404
        assert look(query="?stage=7").status_code == 404

    def test_another_sites_square_is_not_found(self, look):
        other = make_season()
        make_square(make_grid(other.site, code="P", first_column="K", first_row="7"))

        assert look(of=other, role=Role.DIRECTOR).status_code == 404

    @pytest.mark.usefixtures("square")
    def test_a_square_without_a_stage_says_so(self, look):
        answer = look()

        assert "No stage is open for this square" in text_of(answer)
        assert "Open a stage for it" in text_of(answer)
        assert "Open a stage for it" not in text_of(look(role=Role.CREW))


class TestNeighbours:
    @pytest.mark.usefixtures("goal")
    def test_the_next_along_row_and_column_past_gaps_and_no_further(self, look, grid):
        for at in ((2, 0), (3, 0), (0, -1), (1, 1)):
            make_square(grid, *at)

        ways = look(query="?hide=lines&frame=all").context["ways"]

        assert [(way.key, way.label) for way in ways] == [
            ("ArrowLeft", ""),
            ("ArrowUp", ""),
            ("ArrowDown", "K6"),
            ("ArrowRight", "M7"),
        ]
        assert ways[3].url.endswith("/square/P/M7?hide=lines")


class TestPanes:
    def test_the_accepted_whole_drawing_is_shown_and_others_can_be_chosen(
        self, look, goal, square, stage, lead
    ):
        with acting_as(lead.account):
            counts = make_drawn(square, stage, "accepted")
            later = make_drawn(square, stage, "redo")

        page = look().context["page"]
        assert page.drawing.shown == counts
        assert [piece.placement_id for piece in page.drawing.window.pieces] == [counts.placement_id]
        asked = look(query=f"?drawing={later.drawing.n}").context
        assert asked["page"].drawing.shown == later
        assert [chip.is_current for chip in asked["drawing_chips"]] == [False, True]
        assert look(query="?drawing=999").context["page"].drawing.shown == counts

    @pytest.mark.usefixtures("goal")
    def test_a_frame_that_covers_enough_stands_alone(self, look, grid, stage):
        photographed(stage, grid, 1, 2)

        page = look().context["page"]

        assert [one.fraction for one in page.photographs.all] == pytest.approx([1.0, 0.25])
        assert not page.photographs.is_together
        together = look(query="?frame=all").context["page"].photographs
        best = page.photographs.all[0].frame.placement_id
        assert [piece.placement_id for piece in together.window.pieces][-1] == best

    @pytest.mark.usefixtures("goal")
    def test_where_none_does_all_are_laid_together_and_one_can_be_chosen(self, look, grid, stage):
        frames = photographed(stage, grid, 1, 2, start_x_m=0.1, step_m=0.9)

        page = look().context["page"]
        assert page.photographs.is_together
        n = frames[1].photograph.n
        chosen = look(query=f"?frame={n}").context["page"].photographs.shown
        assert [one.frame for one in chosen] == [frames[1]]

    @pytest.mark.usefixtures("goal")
    def test_a_frame_left_out_or_void_and_another_stages_are_not_shown(
        self, look, season, grid, square, stage, lead
    ):
        frames = photographed(stage, grid, 1, 1, 1)
        frames[0].is_kept, frames[0].left_out_reason = False, "blurred"
        frames[0].save()
        photograph = frames[1].photograph
        photograph.voided_at, photograph.voided_by = photograph.made_at, lead.account
        photograph.void_reason = "twice"
        photograph.save()
        photographed(make_stage(season, order=2), grid, 1)

        assert [one.frame for one in look().context["page"].photographs.all] == [frames[2]]

    def test_both_windows_are_the_same_part_of_the_grid(self, look, goal, square, grid, lead):
        photographed(goal.stage, grid, 1)
        with acting_as(lead.account):
            make_drawn(square, goal.stage, "accepted")

        page = look().context["page"]

        assert page.drawing.window.box == page.photographs.window.box == (-0.05, -0.05, 1.05, 1.05)
        assert page.drawing.window.width_px == page.photographs.window.width_px == 1100

    @pytest.mark.parametrize("side_m", [0.2, 0.75, 1, 2, 5])
    def test_a_window_is_as_fine_whatever_the_side(self, season, side_m):
        square = make_square(make_grid(season.site, side_m=side_m), 3, -2)
        window = window_of(square, ["placement"])

        assert (window.width_px, window.height_px) == (1100, 1100)
        assert window.box[2] - window.box[0] == pytest.approx(1.1 * side_m)


class TestOverlay:
    def test_finds_lie_at_their_offsets_and_holes_at_theirs(self, grid, lead):
        square = make_square(grid, 2, 3)
        find = make_find(make_season(grid.site), square=square, where_in_words="")
        find.fix = Fix(grid=grid, x_m=2.25, y_m=3.9, sigma_m=0.02)
        hole = {"outline_m": [[2, 3], [2.5, 3], [2.5, 3.1], [2, 3.1]]}

        overlay = overlay_of(square, [find], [hole])

        # 50 of margin, 1,000 a side, y from the top: worked out by hand.
        assert overlay.finds[0].arms.startswith("M286.0 150.0h28M300.0 136.0")
        assert overlay.holes == ["50.0 1050.0 550.0 1050.0 550.0 950.0 50.0 950.0"]
        assert (overlay.bar.length, overlay.bar.words) == (500, "50 cm")

    @pytest.mark.parametrize(
        ("bearing_deg", "slope_deg", "turn", "is_wall"),
        [
            (0, 0, "0.0", False),
            (35, 0, "325.0", False),
            (45, 45, "305.3", False),  # half as steep again along y: tan 54.7° = √2
            (90, 0, "270.0", False),  # rows run east: north lies to the left
            (35, 90, "0.0", True),
            (35, -60, "180.0", True),  # its rows run down into the sea
        ],
    )
    def test_the_arrow_points_to_site_north_or_up(
        self, season, bearing_deg, slope_deg, turn, is_wall
    ):
        grid = make_grid(season.site, bearing_deg=bearing_deg, slope_deg=slope_deg)
        overlay = overlay_of(make_square(grid), [], [])

        assert (overlay.arrow_turn_deg, overlay.is_wall) == (turn, is_wall)

    @pytest.mark.parametrize(
        ("side_m", "first", "count"), [(0.5, 200, 4), (1, 200, 4), (2, 100, 9)]
    )
    def test_strings_stand_as_on_the_printed_sheet(self, grid, side_m, first, count):
        """Every 20 cm, in a small square every 10, from the corner that offsets count from."""
        grid.side_m = side_m
        strings = overlay_of(make_square(grid), [], []).strings

        assert strings.startswith(f"M{50 + first} 50V1050M50 {1050 - first}H1050")
        assert strings.count("V") == count

    @pytest.mark.usefixtures("goal")
    def test_layers_are_hidden_by_a_link_and_shown_by_the_next(self, look, season, square, stage):
        find = make_find(season, square=square, stage=stage, where_in_words="")
        Fix.objects.create(find=find, grid=square.grid, x_m=0.5, y_m=0.5, sigma_m=0.02)
        shown = look()
        hidden = look(query="?hide=finds,lines")

        assert shown.content.count(b"over-rim") == shown.content.count(b'"over-find"') == 2
        assert b"over-rim" not in hidden.content
        assert b'"over-find"' not in hidden.content
        assert [chip.query for chip in shown.context["layer_chips"]] == [
            "?hide=finds",
            "?hide=features",
            "?hide=lines",
        ]
        assert [chip.query for chip in hidden.context["layer_chips"]] == [
            "?hide=lines",
            "?hide=features%2Cfinds%2Clines",
            "?hide=finds",
        ]

    @pytest.mark.usefixtures("goal")
    def test_a_comma_for_the_decimal_sign_stays_out_of_the_drawing(
        self, look, season, square, grid, stage, settings
    ):
        find = make_find(season, square=square, where_in_words="")
        Fix.objects.create(find=find, grid=square.grid, x_m=0.1234, y_m=0.5, sigma_m=0.02)
        photographed(stage, grid, 1, start_x_m=0.11)
        settings.LANGUAGE_CODE = "de"
        settings.MIDDLEWARE = [one for one in settings.MIDDLEWARE if "Locale" not in one]

        svgs = re.findall(r"<svg.*?</svg>", look().content.decode(), re.S)

        numbers = " ".join(re.findall(r'(?:\bd|x|y|viewBox|transform)="([^"]*)"', "".join(svgs)))
        assert svgs
        assert "173.4" in numbers
        assert not re.search(r"\d,\d", numbers)


def tasked(season, square, stage, method, outcome="done", diver=None):
    dive = make_dive(make_day(season, vessel=f"boat {DiveTask.objects.count()}"))
    if diver:
        make_dive_member(dive, diver)
    DiveTask.objects.create(dive=dive, square=square, stage=stage, method=method, outcome=outcome)
    return dive


class TestButton:
    """Where each step leads; which step it is stands in the table of test_square_missing.py."""

    def button(self, answer):
        button = answer.context["button"]
        return (urlsplit(button.url).path, parse_qs(urlsplit(button.url).query))

    def test_to_the_check(self, look, season, goal, square, stage, lead):
        with acting_as(lead.account):
            drawn = make_drawn(square, stage)

        path, query = self.button(look())

        assert (path, query) == (reverse("drawing_check", args=[season.code, drawn.pk]), {})

    def test_to_bring_in_a_drawing(self, look, season, goal, square, stage):
        dive = tasked(season, square, stage, "drawing")

        path, query = self.button(look(role=Role.CREW))

        assert path == reverse("drawing_new", args=[season.code])
        assert query == {"squares": ["K7"], "dive": [str(dive.n)]}

    def test_to_bring_in_a_card(self, look, season, goal, square, stage):
        dive = tasked(season, square, stage, "photographs")

        path, query = self.button(look(role=Role.CREW))

        assert path == reverse("card_new", args=[season.code])
        assert query == {"dive": [str(dive.pk)]}

    def test_to_go_on_with_a_card(self, look, season, goal, square, stage, grid):
        dive = tasked(season, square, stage, "photographs")
        with acting_as(make_member(season.site, Role.LEAD).account):
            run = make_run(season, stage=stage, grid=grid)
        card = Card.objects.create(run=run, dive=dive, state=CardState.ARRIVING)

        path, query = self.button(look(role=Role.CREW))

        assert (path, query) == (reverse("card", args=[season.code, card.pk]), {})

    def test_to_log_a_dive(self, look, season, goal, stage):
        path, query = self.button(look(role=Role.CREW))

        assert path == reverse("dive_new", args=[season.code])
        assert query == {"square": ["K7"], "stage": [str(stage.pk)]}

    def test_to_decide(self, look, season, goal, square, stage):
        tasked(season, square, stage, "drawing", "not_reached")

        assert self.button(look())[0] == reverse("goal", args=[season.code, goal.pk])

    def test_there_is_one_at_most_and_none_for_readers_nor_when_closed(self, look, season, goal):
        assert look(role=Role.READER).context["button"] is None
        assert look(role=Role.CREW).content.count(b"button primary") == 1

        SeasonEvent.objects.create(
            season=season, kind=SeasonEventKind.FIELDWORK_CLOSED, reason="the ship goes home"
        )
        assert look(role=Role.CREW).context["button"] is None
        assert b"Register a find" not in look(role=Role.DIRECTOR).content

    def test_a_find_is_registered_on_the_square_by_its_label(self, look, client, season, goal):
        asked = re.search(r'href="([^"]+/finds/new\?[^"]+)"', look().content.decode())[1]
        question = client.get(unescape(asked)).content.decode()
        form = re.search(r'href="([^"]+/finds/new/form\?[^"]+)"', question)[1]

        assert client.get(unescape(form)).context["form"].initial["square"] == "K7"


class TestAnswer:
    def test_a_hole_is_said_with_its_size_and_place(self, look, goal, grid, stage):
        photographed(stage, grid, 1, start_x_m=0.1)

        # The footprint ends at x = 0.85: 15 cm by 1 m are left at the right, which at a bearing
        # of 10° looks east.
        assert "Photographed 85 %: a hole of 0.15 m² by the right edge (east)." in text_of(look())

    def test_on_a_wall_there_is_no_wind(self, look, season, stage):
        wall = make_grid(season.site, code="H", slope_deg=90, first_column="A")
        make_goal(stage, make_square(wall))
        photographed(stage, wall, 1, start_x_m=0.1)

        assert "by the right edge." in text_of(look("A1", grid="H"))

    def test_the_checks_own_words_say_what_is_wrong(self, look, goal, square, stage, lead):
        with acting_as(lead.account):
            drawn = make_drawn(square, stage)
            DrawingCheck.objects.create(
                drawn_square=drawn, verdict="redo", why="edge", words="edge does not meet K8."
            )

        page = text_of(look())
        assert "Drawing sent back: edge does not meet K8." in page
        assert "the whole square · sent back: edge does not meet K8." in page

    def test_divers_word_without_a_drawing(self, look, season, goal, square, stage):
        dive = tasked(season, square, stage, "drawing")

        assert f"Said drawn by divers on dive {dive.n}; no drawing has come in." in text_of(look())

    def test_a_card_that_is_coming_in(self, look, season, goal, square, stage, grid):
        dive = tasked(season, square, stage, "photographs")
        with acting_as(make_member(season.site, Role.LEAD).account):
            Card.objects.create(
                run=make_run(season, stage=stage, grid=grid), dive=dive, state=CardState.ARRIVING
            )

        assert "A card is coming in; its frames are not accepted yet." in text_of(look())


class TestSurfaces:
    def test_the_present_stage_is_shown_and_others_are_one_tap_away(
        self, look, season, goal, square, lead
    ):
        cleaned = make_stage(season, order=2, name="cleaned")
        make_goal(cleaned, square)
        before = make_season(season.site, starts_on=season.starts_on - timedelta(days=365))
        with acting_as(lead.account):
            make_drawn(square, make_goal(make_stage(before, order=1), square).stage, "accepted")

        answer = look()

        assert answer.context["state"].stage == cleaned
        surfaces = answer.context["surfaces"]
        assert [(one.state.stage.name, one.is_elsewhere) for one in surfaces] == [
            ("cleaned", False),
            ("as found", False),
            ("stage 1", True),
        ]
        assert surfaces[2].state.drawing.words == "drawn"
        assert look(query="?stage=1").context["state"].stage == goal.stage
        assert surfaces[2].url == f"/s/{before.code}/square/P/K7?stage=1"

    def test_a_stage_asked_for_that_is_not_open_for_the_square_is_shown_as_such(
        self, look, season, goal
    ):
        make_stage(season, order=2, name="cleaned")

        assert "Nothing is wanted of this square in this stage" in text_of(look(query="?stage=2"))

    def test_each_seasons_own_needed_share_counts(self, look, season, goal, square, grid):
        before = make_season(
            season.site,
            starts_on=season.starts_on - timedelta(days=365),
            coverage_needed_fraction=0.8,
        )
        earlier = make_goal(make_stage(before, order=1), square).stage
        photographed(earlier, grid, 1, start_x_m=0.1)
        photographed(goal.stage, grid, 1, start_x_m=0.1)

        words = [one.state.photographs.words for one in look().context["surfaces"]]

        assert words == ["photographed 85 %", "photographed"]


class TestLog:
    def test_everything_in_the_order_in_which_it_was_done(
        self, look, season, goal, square, grid, stage, lead
    ):
        diver = make_diver(season.site, initials="NO", name="Secretdiver")
        dive = tasked(season, square, stage, "drawing", "part", diver)
        with acting_as(lead.account):
            drawn = make_drawn(square, stage, "redo", "accepted", extent="")
            drawn.extent = "part"
            drawn.save()
            exception = make_exception(goal, method="photographs", reason="under the anchor")
        photographed(stage, grid, 1)
        shot = make_photograph(season, square=square, stage=stage, subject="the jar", dive=dive)
        find = make_find(season, square=square, stage=stage, where_in_words="", found_by=diver)

        log = look().context["page"].log

        assert [event.words for event in sorted(log, key=lambda one: one.at)] == log_of(look())
        n = drawn.drawing.n
        assert {event.words: (event.who, event.note) for event in log} == {
            "A drawing and photographs are wanted": ("", ""),
            "drawing: part done": ("NO", ""),
            f"Drawing {n} came in": (lead.account.name, ""),
            f"Said of drawing {n}: a part of it": (lead.account.name, ""),
            f"Drawing {n} sent back": (lead.account.name, "no levels"),
            f"Drawing {n} accepted": (lead.account.name, ""),
            "Exception accepted, photographs: could not be reached": (
                lead.account.name,
                exception.reason,
            ),
            "1 frame accepted that touches the square": (
                Membership.objects.filter(role=Role.LEAD).order_by("made_at")[1].account.name,
                "photographs 1",
            ),
            f"Photograph {shot.n}, record shot": ("", "the jar"),
            f"Find {find.n}, jar, in place": ("NO", "without a position yet"),
        }

    def test_readers_see_neither_names_nor_initials(self, look, goal, square, stage, lead):
        with acting_as(lead.account):
            make_drawn(square, stage, "accepted")

        text = text_of(look(role=Role.READER))

        assert "accepted" in text
        assert lead.account.name not in text
        assert not re.search(rf"\b{lead.initials}\b", text)

    def test_a_void_drawing_stays_in_the_log_but_not_in_the_pane(
        self, look, goal, square, stage, lead
    ):
        with acting_as(lead.account):
            drawn = make_drawn(square, stage, "accepted")
        drawn.voided_at, drawn.voided_by = drawn.made_at, lead.account
        drawn.void_reason = "wrong square"
        drawn.save()

        page = look().context["page"]

        assert page.drawing.window is None
        assert [event.is_void for event in page.log if "came in" in event.words] == [True]


class TestRestricted:
    @pytest.mark.usefixtures("goal")
    def test_finds_are_for_leads(self, look, season, square, stage):
        find = make_find(
            season, square=square, where_in_words="", restriction=Restriction.HUMAN_REMAINS
        )
        Fix.objects.create(find=find, grid=square.grid, x_m=0.5, y_m=0.5, sigma_m=0.02)

        for role in (Role.READER, Role.CREW):
            answer = look(role=role)
            assert b'"over-find"' not in answer.content
            assert log_of(answer) == ["A drawing and photographs are wanted"]
        assert b'"over-find"' in look(role=Role.LEAD).content

    def test_so_are_the_pictures_on_which_they_are_seen(self, look, season, goal, square, grid):
        frame = photographed(goal.stage, grid, 1)[0]
        with acting_as(make_member(season.site, Role.LEAD).account):
            drawn = make_drawn(square, goal.stage, "accepted")
        find = make_find(season, restriction=Restriction.ORDNANCE)
        for picture in (frame.photograph.picture, drawn.drawing.picture):
            FindPicture.objects.create(find=find, picture=picture)

        page = look(role=Role.CREW).context["page"]
        assert (page.drawing.window, page.photographs.window) == (None, None)
        page = look(role=Role.LEAD).context["page"]
        assert page.drawing.window
        assert page.photographs.window


class TestFindsNearby:
    @pytest.mark.usefixtures("goal")
    def test_one_in_the_margin_is_drawn_and_one_of_another_surface_is_not(
        self, look, season, grid, square
    ):
        beside = make_square(grid, 1, 0)
        other = make_stage(season, order=2)
        for x_m, fields in (
            (1.03, {"square": beside}),
            (1.3, {"square": beside}),
            (0.5, {"square": square, "stage": other}),
        ):
            find = make_find(season, where_in_words="", **fields)
            Fix.objects.create(find=find, grid=grid, x_m=x_m, y_m=0.5, sigma_m=0.02)

        page = look().context["page"]

        assert [one.number for one in page.overlay.finds] == ["1"]
        assert len(page.log) == 1


def test_queries_do_not_grow_with_what_is_recorded(look, season, goal, square, grid, stage, lead):
    def record(count):
        photographed(stage, grid, *(n % 2 + 1 for n in range(count)))
        for n in range(count // 4):
            diver = make_diver(season.site)
            tasked(season, square, stage, "photographs", "part", diver)
            with acting_as(lead.account):
                make_drawn(square, stage, "redo")
            make_photograph(season, square=square, stage=stage, photographer=diver)
            find = make_find(season, square=square, where_in_words="", found_by=diver)
            Fix.objects.create(find=find, grid=grid, x_m=0.1 * n, y_m=0.5, sigma_m=0.02)
            make_square(grid, count + n, 0)
            make_goal(make_stage(make_season(season.site)), square)

    def asked():
        with CaptureQueriesContext(connection) as caught:
            assert look().status_code == 200
        return len(caught)

    record(4)
    look()
    few = asked()
    record(12)

    assert asked() == few
    assert few <= 41
