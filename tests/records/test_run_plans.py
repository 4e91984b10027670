"""Planning a run over squares, making it, and its card, as a browser without script asks."""

import datetime
import json
import math
import shutil
import tempfile
from pathlib import Path
from types import SimpleNamespace
from uuid import uuid4

import cv2
import numpy as np
import pytest
import typst
from django.conf import settings
from django.urls import reverse

from records.acting import acting_as
from records.archive.run_card import _again as again_card
from records.archive.run_card import card_of, code_svg
from records.archive.run_card import row_boards_of as boards
from records.archive.run_card_map import APART_MM, card_map
from records.archive.square_tags import square_tags_of as tags
from records.models import PhotoRun, Role, SeasonEvent
from records.queries.run_map import map_of
from records.verbs.tower import RowEntry
from survey.markers import Kind, code_for, find_markers
from survey.square_tags import tag_number
from tests.factory import (
    make_day,
    make_dive,
    make_grid,
    make_member,
    make_season,
    make_square,
    make_stage,
)
from tests.factory_pictures import make_run, make_tower_set_up


def printed(template, data):
    """Its sheets as grey pictures at 2 px a mm, with the fonts that prints are set in."""
    fonts = typst.Fonts(include_system_fonts=False, include_embedded_fonts=True)
    with tempfile.TemporaryDirectory() as folder:
        for part in (Path(settings.BASE_DIR) / "templates" / "print").glob("*.typ"):
            shutil.copy(part, folder)
        (Path(folder) / "data.json").write_text(json.dumps(data))
        compiler = typst.Compiler(Path(folder) / template, root=folder, font_paths=fonts)
        sheets = compiler.compile(format="png", ppi=50.8)
    sheets = sheets if isinstance(sheets, list) else [sheets]
    return [cv2.imdecode(np.frombuffer(one, np.uint8), cv2.IMREAD_GRAYSCALE) for one in sheets]


@pytest.fixture
def season(db):
    season = make_season(zone="UTC")
    with acting_as(make_member(season.site, Role.LEAD).account):
        yield season


@pytest.fixture
def grid(season):
    grid = make_grid(season.site, first_column="K", first_row="7")
    for column in range(6):
        for row in range(4):
            make_square(grid, column, row)
    return grid


@pytest.fixture
def asked(season, grid):
    """K7 to P10, 6 × 4 m, under a footprint of 1.5 × 1 m."""
    return {
        "grid": grid.pk,
        "stage": make_stage(season).pk,
        "set_up": make_tower_set_up(season).pk,
        "squares": "K7–P10",
        "forward_percent": "40",
        "side_percent": "40",
        "seconds_a_frame": "20",
        "minutes_a_dive": "6",
        "along": "x",
        "ways": "back",
        "turn_deg": "0",
    }


@pytest.fixture
def crew(client, season):
    client.force_login(make_member(season.site, Role.CREW).account)
    return client


def planned(client, season, asked, status=200):
    answer = client.get(reverse("run_plan", args=[season.code]), asked)
    assert answer.status_code == status
    return answer


def test_a_block_is_planned_by_hand_counts(crew, season, asked):
    """Six rows of six: 5.0/0.9 and 3.0/0.6 rounded up; 36 + 3 + 18 shots at 20 s are 19 minutes,
    18 in a dive of six."""
    answer = planned(crew, season, asked)
    page = answer.content.decode()

    assert "36 frames in 6 rows." in page
    assert "57 shots, 19 minutes: 4 dives." in page
    assert "The middle 20 % of each frame along a row is seen once only" in page
    assert "leaves a gap of 0.3 m" in page
    assert page.count('class="map-foot empty"') == 36
    assert page.count('class="map-square"') == 24


def test_the_plan_that_was_looked_at_is_made(crew, season, asked):
    address = planned(crew, season, asked).request
    url = f"{address['PATH_INFO']}?{address['QUERY_STRING']}"
    said = {"name": "Six by four", "id": str(uuid4())}

    assert crew.post(url, said).status_code == 303
    assert crew.post(url, said).status_code == 303  # sent twice, made once

    run = PhotoRun.objects.get()
    rows = [(r.start_x_m, r.start_y_m, r.direction_deg, r.stations) for r in run.rows.all()]
    assert rows[:2] == [(0.75, 0.5, 0.0, 6), (5.25, 1.1, 180.0, 6)]
    assert len(rows) == 6
    assert crew.get(reverse("run_edit", args=[season.code, run.pk])).status_code == 200


def test_a_name_that_is_taken_is_told_beside_the_plan(crew, season, asked):
    make_run(season, name="Bow")
    url = planned(crew, season, asked).request
    url = f"{url['PATH_INFO']}?{url['QUERY_STRING']}"

    answer = crew.post(url, {"name": "Bow", "id": str(uuid4())})

    assert answer.status_code == 422
    assert "already has a run of this name" in answer.content.decode()
    assert "36 frames" in answer.content.decode()


def test_an_area_is_typed_in_metres(crew, season, asked):
    """22.5 m at 1.5 m and 40 % take 25 stations (common practice); in cm, from −25 to 2075 are
    24 steps of 88 (87.5), 12 more than needed, so 6 over each edge: the first at −31."""
    asked |= {"squares": "", "length_m": "22.5", "width_m": "1", "corner_x_m": "-1"}

    page = planned(crew, season, asked).content.decode()

    assert "25 frames in 1 row." in page
    assert "-0.31, 0.50 m" in page


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"squares": ""}, "Name the squares, or give length and width"),
        ({"squares": "??"}, "??"),
        ({"squares": "K7–K60"}, "rows; a run holds 60"),
        ({"squares": "", "length_m": "500", "width_m": "0.5"}, "more than 500 stations"),
        ({"squares": "", "length_m": "300", "width_m": "30"}, "frames; a run is at most 1500"),
        ({"forward_percent": "95"}, "between 0 and 90"),
        ({"seconds_a_frame": "600"}, "not one fits into"),
        ({"height_error_m": "3"}, "as much as the height itself"),
        ({"height_error_m": "0.1", "turn_deg": "20"}, "turned by quarters only"),
        ({"turn_deg": "400"}, "360"),
    ],
)
def test_what_cannot_be_planned_is_told(crew, season, asked, changed, words):
    changed = {"forward_percent": "60"} | changed if "length_m" in changed else changed

    assert words in planned(crew, season, asked | changed, 422).content.decode()


class TestAnotherGrid:
    @pytest.fixture
    def other(self, season, grid):
        """Far from its origin: a single square, 10 m along x."""
        other = make_grid(season.site, name="Stern")
        make_square(other, 10, 0)
        return other

    def test_its_plan_is_drawn_and_what_is_typed_stays(self, crew, season, asked, other):
        asked |= {"grid": other.pk, "redraw": "1", "forward_percent": "55", "length_m": "2,5"}

        page = planned(crew, season, asked).content.decode()

        assert page.count("data-c=") == 1
        assert 'value="55"' in page
        assert 'value="2,5"' in page
        assert "frames in" not in page

    def test_squares_that_it_has_not_are_refused(self, crew, season, asked, other):
        asked |= {"grid": other.pk, "squares": "A1-B1"}

        page = planned(crew, season, asked, 422).content.decode()

        assert "No square of Stern lies there." in page
        assert page.count("data-c=") == 1

    def test_metres_beside_its_squares_are_warned_of(self, crew, season, asked, other):
        asked |= {"grid": other.pk, "squares": "", "length_m": "2", "width_m": "1"}

        assert "No square of Stern lies under" in planned(crew, season, asked).content.decode()
        asked |= {"corner_x_m": "9"}
        assert "No square of Stern" not in planned(crew, season, asked).content.decode()


def test_a_tower_turned_by_any_angle_is_planned(crew, season, asked):
    """Held against Shapely in tests/survey/test_turned.py: 15° take a row and a station more."""
    page = planned(crew, season, asked | {"turn_deg": "15"}).content.decode()

    assert "49 frames in 7 rows." in page
    assert "Counted of a turned frame" in page


def test_the_latest_noted_visibility_is_held_against_the_height(crew, season, asked):
    """1.4 m above the base: beyond a third of 3.9 m; 4.5 m is enough, 6 m good (common
    practice)."""
    day = make_day(season)
    left = datetime.datetime(2031, 6, 10, 9, tzinfo=datetime.UTC)
    first, later, _unnoted = (
        make_dive(
            day,
            left_surface_at=left + datetime.timedelta(hours=hours),
            reached_surface_at=left + datetime.timedelta(hours=hours + 1),
            visibility_m=visibility_m,
        )
        for hours, visibility_m in ((0, 9.0), (2, 3.9), (4, None))
    )

    page = planned(crew, season, asked).content.decode()

    assert "in water of 3.9 m visibility: too far. Go within 1.3 m" in page
    assert f"as noted on dive {later.n}." in page
    assert f"dive {first.n}." not in page


def test_a_hovering_diver_is_told_what_is_left(crew, season, asked):
    """0.14 of 1.4 m is 10 %: the footprint of 1.5 shrinks to 1.35 m, 0.45 of it is shared."""
    asked |= {"height_error_m": "0.14"}

    page = planned(crew, season, asked).content.decode()

    assert "100 mm wrong (10.0 %), and of 40 % overlap at least 33 % is left" in page


def test_hovering_is_told_from_the_overlap_that_is_planned(crew, season, asked):
    """K7 to M7 are 3 m, 1.5 m between first and last: two steps of 0.75 m keep 50 % of 1.5 m."""
    asked |= {"squares": "K7-M7", "height_error_m": "0.14"}

    page = planned(crew, season, asked).content.decode()

    assert "<dd>50 %." in page
    assert "of 50 % overlap at least" in page


def test_a_closed_season_says_so_first(crew, season):
    SeasonEvent.objects.create(season=season, kind="fieldwork_closed", reason="done")

    assert planned(crew, season, {}, 409)


def test_a_bare_page_asks(crew, season, grid):
    page = planned(crew, season, {}).content.decode()

    assert "Say which squares" in page
    assert "diving supervisor" in page


def test_circles_of_a_long_row_stay_apart(season):
    run = make_run(season, RowEntry(0.5, 0.5, 0.0, 0.5, 100))

    drawn = map_of(run, {})

    apart = float(drawn.stations[1].x) - float(drawn.stations[0].x)
    assert 2 * float(drawn.radius) < apart


class TestCard:
    @pytest.fixture
    def run(self, season, grid):
        rows = RowEntry(0.75, 0.5, 0.0, 0.9, 6), RowEntry(5.25, 1.1, 180.0, 0.9, 6, 90.0)
        return make_run(season, *rows, name="Six by two", grid=grid, note="Mind the anchor.")

    def test_it_says_what_the_diver_needs(self, run):
        """0.6 m of 1.5 m shared is 40 %; turned a quarter, 0.1 m of 1 m is 10 %, the least."""
        card = card_of(run)

        first, second = card["rows"]
        assert (first["squares"], first["arrow"], first["stations"][-1]) == ("K7 to P7", "→", "6")
        assert (second["squares"], second["arrow"]) == ("P8 to K8", "←")
        assert second["turn"] == "tower turned by 90°"
        assert ["Overlap along a row", "10 %"] in card["settings"]
        assert card["first"] == ["Run board", "Colour card at depth", "Square tag, legible"]
        assert "diving supervisor" in card["words"]["caution"]

    def test_shooting_again_says_where_each_station_stands(self, run):
        """Station 4 of row 2: 5.25 − 3 · 0.9 = 2.55 m along x, in the third column."""
        hole = [(2.4, 0.9), (2.8, 0.9), (2.8, 1.3), (2.4, 1.3)]
        card = again_card(run, SimpleNamespace(again=(9, 11), holes_m=[hole], sentence="A hole."))

        (row,) = card["rows"]
        assert row["start"] == "station 4 at x 2.55, y 1.10 m, M8"
        assert row["places"] == ["station 6 at x 0.75, y 1.10 m, K8"]
        assert row["step"] == ""
        assert "station 1" not in card["words"]["first"]

    def test_every_board_is_read_from_its_print(self, run):
        """Set by typst, found by OpenCV's own detector; the 100 mm bar is 100 mm, at 2 px a mm."""
        sheets = [*printed("run-card.typ", card_of(run)), *printed("row-boards.typ", boards(run))]
        dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_6X6_1000)
        detector = cv2.aruco.ArucoDetector(dictionary)
        read = [detector.detectMarkers(sheet)[1] for sheet in sheets]

        codes = [[] if one is None else sorted(one.ravel().tolist()) for one in read]
        run_code = code_for(Kind.RUN, run.board_number)
        assert codes == [[], [], [run_code], [100, 150], [101, 151]]
        for sheet in (sheets[1], sheets[3]):
            black = (sheet < 64).astype(np.uint8)
            widths = [
                np.diff(np.flatnonzero(np.diff(row, prepend=0, append=0)))[::2].max(initial=0)
                for row in black
            ]
            assert 200 in [round(int(width)) for width in widths]

    def test_every_square_tag_is_read_from_its_print(self, run):
        """Twelve squares, six a page, column by column; a code is 50 mm, at 2 px a mm."""
        told = tags(run)
        sheets = printed("square-tags.typ", told)
        found = [one for sheet in sheets for one in find_markers(sheet)]

        labels = [one["label"] for sheet in told["sheets"] for one in sheet]
        assert labels[:4] == ["K7", "K8", "L7", "L8"]
        assert len(labels) == len(set(labels)) == 12
        squares = [run.grid.square_for_label(label) for label in labels]
        assert sorted(one.code for one in found) == sorted(
            code_for(Kind.SQUARE, tag_number(*square)) for square in squares
        )
        assert [8 * one.module_px for one in found] == pytest.approx([100.0] * 12, abs=1.1)

    def test_its_map_is_to_its_bar_and_names_every_square(self, run):
        """0.9 m from station 1 to 2 of row 1; row 2 runs back; K7 to P8, A picture's 1.5 m."""
        drawn = card_map(run)
        a_metre = drawn["bar"]["length"] / float(drawn["bar"]["words"].split()[0])

        dots = drawn["dots"]
        assert math.dist(dots[0], dots[1]) == pytest.approx(0.9 * a_metre, abs=0.02)
        assert math.dist(*drawn["feet"][0][:2]) == pytest.approx(1.5 * a_metre, abs=0.02)
        (right, left) = (line["to"][0] - line["from"][0] for line in drawn["lines"])
        assert right > 0 > left
        assert [one["n"] for one in drawn["circles"]] == ["1", "6", "1", "6", *"23452345"]
        told = [one["label"] for one in drawn["squares"] if one["label_at"]]
        assert len(told) == 12
        assert {"K7", "P8"} <= set(told)

    def test_numbers_that_would_touch_are_left_out(self, season, grid):
        """170 stations on at most 178 mm: the ends, and every tenth or rarer."""
        drawn = card_map(make_run(season, RowEntry(0.5, 0.5, 0.0, 0.2, 170), grid=grid))

        circles = drawn["circles"]
        assert len(drawn["dots"]) == 170
        assert [one["n"] for one in circles][:3] == ["1", "170", "10"]
        apart = [math.dist(a["at"], b["at"]) for a in circles for b in circles if a is not b]
        assert min(apart) >= APART_MM
        assert drawn["width"] <= 178

    @pytest.mark.parametrize(
        ("fields", "turn", "words"),
        [({"bearing_deg": 30}, 330, "site north"), ({"slope_deg": 90, "bearing_deg": 30}, 0, "up")],
    )
    def test_north_on_a_floor_and_up_on_a_wall(self, season, fields, turn, words):
        drawn = card_map(make_run(season, grid=make_grid(season.site, **fields)))

        assert (drawn["turn"], drawn["arrow"]) == (pytest.approx(turn), words)

    def test_each_run_of_a_season_has_its_own_board(self, run, season):
        other = make_run(season, name="Bow")

        assert (run.board_number, other.board_number) == (1, 2)

    def test_beyond_the_last_code_a_board_has_words_only(self):
        assert code_svg(Kind.ROW_BEGINS, 51) == ""

    def test_it_is_a_pdf_of_card_and_board(self, run, crew, season):
        answer = crew.get(reverse("run_card", args=[season.code, run.pk]))

        assert answer["Content-Type"] == "application/pdf"
        assert answer.content.startswith(b"%PDF")
        assert b"/Count 3" in answer.content
        for other in ("row_boards", "square_tags"):
            answer = crew.get(reverse(other, args=[season.code, run.pk]))
            assert answer.content.startswith(b"%PDF")
