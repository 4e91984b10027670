"""Registers of traced features, comparisons, printed sheets and scans, and the index by square."""

import csv
import io
from uuid import uuid4

import pytest
import shapely
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from records.acting import acting_as
from records.archive.registers import REGISTERS, Viewer
from records.models import FrameOnSquare, NumberEnd, Role, Scan, ScanState
from records.verbs.comparisons import void_comparison
from records.verbs.outlines import OutlineEntry, retrace_outline, trace_outline, void_outline
from records.verbs.sheets import BoardEntry, print_board, void_sheet
from tests.factory import make_goal, make_grid, make_member, make_season, make_square, make_stage
from tests.factory_comparisons import make_comparison
from tests.factory_drawings import make_drawing, make_drawn_square, make_sheet
from tests.factory_pictures import make_card, make_frame, make_run

pytestmark = pytest.mark.django_db

NAMES = ("features", "comparisons", "sheets", "scans")
# Round the inner corner of four squares: its box lies over all of them, it over three.
HOOK = [(0.2, 0.2), (1.8, 0.2), (1.8, 0.6), (0.6, 0.6), (0.6, 1.8), (0.2, 1.8)]


class World:
    def __init__(self):
        self.season = make_season()
        self.stage = make_stage(self.season)
        self.grid = make_grid(self.season.site, origin_e_m=4711.25, origin_n_m=8822.75)
        self.squares = [make_square(self.grid, column, row) for row in (0, 1) for column in (0, 1)]
        for square in self.squares:
            make_goal(self.stage, square)
        self.lead = make_member(self.season.site, Role.LEAD)

    def fill(self):
        """One of each; the frame is seen on the first square."""
        under = make_drawn_square(make_drawing(self.season), self.squares[0], self.stage)
        entry = OutlineEntry(
            self.grid, "T", "area", HOOK, "keel", "", "drawing", [under.placement_id]
        )
        card = make_card(make_run(self.season, stage=self.stage, grid=self.grid))
        frame = make_frame(card, 1)
        FrameOnSquare.objects.get_or_create(
            frame=frame, square=self.squares[0], defaults={"fraction": 1.0}
        )
        sheet = make_sheet(self.stage, self.squares[:2])
        scan = Scan.objects.create(
            season=self.season, picture=under.drawing.picture, state=ScanState.FILED, sheet=sheet
        )
        return trace_outline(self.stage, entry), make_comparison(under, frame, 0.04), sheet, scan

    def lines(self, client, name, role=Role.CREW, url="register_file"):
        account = make_member(self.season.site, role).account
        client.force_login(account, "records.sign_in.PasswordBackend")
        more = [name] if url == "register_file" else []
        answer = client.get(reverse(url, args=[self.season.code, *more, "archive"]))
        return list(csv.DictReader(io.StringIO(answer.getvalue().decode())))


@pytest.fixture
def world():
    world = World()
    with acting_as(world.lead.account):
        yield world


def test_features_are_measured_as_shapely_does_and_stand_on_each_of_their_squares(world, client):
    keel = world.fill()[0]
    line = [(0.1, 0.1), (0.1, 1.1), (1.4, 1.1)]
    trace_outline(world.stage, OutlineEntry(world.grid, "F", "line", line))
    wrong = trace_outline(world.stage, OutlineEntry(world.grid, "C", "area", HOOK))
    void_outline(wrong, "the same twice")
    retrace_outline(keel, OutlineEntry(world.grid, "T", "area", HOOK, "keel, port side"), 1)

    first, second, third = world.lines(client, "features")

    assert float(first["area_m2"]) == pytest.approx(shapely.Polygon(HOOK).area, abs=5e-5)
    assert float(first["round_m"]) == pytest.approx(shapely.Polygon(HOOK).length, abs=5e-5)
    assert float(second["length_m"]) == pytest.approx(shapely.LineString(line).length, abs=5e-5)
    assert (first["squares"], first["version"], first["length_m"]) == ("A1; A2; B1", "2", "")
    assert first["pictures"] == f"{world.season.code}-drawing-1"
    assert first["traced_by"] == first["changed_by"] == world.lead.account.name
    assert (second["squares"], third["void"]) == ("A1; A2; B2", "the same twice")
    page = client.get(reverse("outline", args=[world.season.code, keel.pk])).content.decode()
    assert f"{shapely.Polygon(HOOK).area:g} m², {shapely.Polygon(HOOK).length:g} m round" in page
    told = {
        one["square"]: one["features"] for one in world.lines(client, "", url="cross_index_file")
    }
    assert told == {
        "A1": "T keel, port side; F × 1",
        "A2": "T keel, port side; F × 1",
        "B1": "T keel, port side",
        "B2": "F × 1",
    }


def test_comparisons_tell_the_limit_of_their_time_and_which_counts(world, client):
    made = world.fill()[1]
    world.season.disagreement_limit_mm = 50
    world.season.save()
    later = make_comparison(made.drawn_square, made.frame, 0.07)
    void_comparison(make_comparison(made.drawn_square, made.frame, 0.01), "other stones")

    first, second, third = world.lines(client, "comparisons")

    told = ("rms_mm", "mean_x_mm", "left_mm", "limit_mm", "stands", "second_look", "void")
    assert [first[key] for key in told] == [
        "40.0",
        "40.0",
        "0.0",
        "30.0",
        "a later one counts",
        "no",
        "",
    ]
    assert [second[key] for key in told] == ["70.0", "70.0", "0.0", "50.0", "counts", "yes", ""]
    assert (third["stands"], third["void"]) == ("void", "other stones")
    assert second["features_count"] == "4"
    (here,) = (one for one in world.lines(client, "", url="cross_index_file") if one["comparisons"])
    assert (here["square"], here["comparisons"]) == (
        "A1",
        f"1 with {later.frame.photograph.n}: 70 mm, second look",
    )


def test_sheets_say_what_became_of_them(world, client):
    filed = world.fill()[2]
    make_drawing(world.season, n=filed.n)
    lost, back = (make_sheet(world.stage, [world.squares[2]]) for _ in range(2))
    void_sheet(lost, "over board")
    NumberEnd.objects.create(block=back.block, n=back.n, end="returned")
    make_sheet(world.stage, [world.squares[2]])
    board = print_board(world.season, BoardEntry(), uuid4())

    lines = world.lines(client, "sheets")

    fates = ["filed", "void", "returned unused", "out", "in use"]
    assert [one["became"] for one in lines] == fates
    assert (lines[0]["drawings"], lines[0]["squares"]) == (str(filed), "A1; B1")
    assert (lines[0]["scale"], lines[0]["paper"], lines[1]["void"]) == ("1:10", "A4", "over board")
    assert lines[-1]["code"] == board.mark
    register = REGISTERS["sheets"]
    viewer = Viewer(world.season, Role.CREW)
    for at, fate in enumerate(("filed", "void", "returned")):
        found = register.selected(viewer, narrowed={"became": fate})
        assert [one.mark for one in found] == [lines[at]["code"]]
    assert register.selected(viewer, narrowed={"became": "out"}).count() == 2
    (scan,) = world.lines(client, "scans")
    assert (scan["state"], scan["sheet"], scan["drawing"]) == (
        "filed by itself",
        str(filed),
        f"{world.season.code}-drawing-1",
    )
    told = {one["square"]: one["sheets"] for one in world.lines(client, "", url="cross_index_file")}
    assert told == {"A1": "2", "B1": "2", "A2": f"{back.n}–{back.n + 1}", "B2": ""}


def test_they_ask_as_often_for_many_rows_and_tell_readers_no_names(
    world,
):
    world.fill()
    viewer = Viewer(world.season, Role.READER)
    asked = {}
    for rows in (1, 3):
        for name in NAMES:
            register = REGISTERS[name]
            with CaptureQueriesContext(connection) as counted:
                found = list(register.selected(viewer, narrowed={}))
                cells = [[one.of(row) for one in register.columns_for(viewer)] for row in found]
            assert len(found) == rows
            assert str(world.lead.account.name) not in str(cells)
            assert asked.setdefault(name, len(counted)) == len(counted), name
        world.fill()
        world.fill()
