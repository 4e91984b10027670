"""Scans that file themselves: from a picture of their codes to drawn squares that wait."""

import io
from uuid import UUID, uuid4

import cv2
import numpy as np
import pypdfium2
import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from PIL import Image

from records.acting import acting_as
from records.intake import scans
from records.intake.scans import bring_in_scan, read_scan
from records.jobs import _claim, perform
from records.models import Drawing, Job, JobState, PrintedSheet, Role, Scan, ScanState, SeasonEvent
from records.queries.scans import same_as
from records.queries.sheets import sheets_of
from records.refusals import Closed, Refused
from records.verbs.drawings import DrawingEntry, bring_in_drawing, void_drawing
from records.verbs.scans import file_film, read_again
from records.verbs.sheets import (
    BoardEntry,
    PrintEntry,
    SheetEntry,
    print_board,
    print_sheets,
    void_sheet,
)
from survey.placement import to_plane
from survey.print_codes import SHORTS, PrintIdentity, PrintKind, codes_of, qr_text
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
from tests.factory_drawings import make_sheet
from tests.survey.made_prints import PX, paper, ruled

EDGE = 30  # px of table round the paper


@pytest.fixture
def squares(season, stage):
    """K7, L7, K8, L8."""
    grid = make_grid(season.site, first_column="K", first_row="7")
    found = [make_square(grid, 3 + column, row) for row in (4, 5) for column in (0, 1)]
    for square in found:
        make_goal(stage, square)
    return found


@pytest.fixture
def sheet(stage, squares):
    return make_sheet(stage, squares[:1], UUID(int=4))  # the same QR code in every run


@pytest.fixture
def block(stage, squares):
    return make_sheet(stage, squares, scale=20)


def picture_of(sheet, quarters=0, *, qr="", covered_mm=0):
    """The sheet's paper with its codes on a table, turned (JPEG); something may lie on the upper
    left corner."""
    identity = PrintIdentity(PrintKind(sheet.kind), sheet.short)
    page = paper(codes_of(identity), sheet.layout, qr)
    page[: covered_mm * PX, : covered_mm * PX] = 200
    return told_as_jpeg(np.rot90(np.pad(page, EDGE, constant_values=90), quarters))


def bulging(sheet, by_mm=3.0):
    """With its lines, those amid the codes drawn out to the right, as paper that bulges shows."""
    page = ruled(
        paper(codes_of(PrintIdentity(PrintKind.SHEET, sheet.short)), sheet.layout), sheet.layout
    )
    height, width = page.shape
    area = sheet.layout.area
    middle = np.array([area.x_mm + area.width_mm / 2, area.y_mm + area.height_mm / 2]) * PX
    x, y = np.meshgrid(np.arange(width, dtype=np.float32), np.arange(height, dtype=np.float32))
    far = np.hypot(x - middle[0], y - middle[1]) / (area.width_mm * PX * 0.6)
    off = by_mm * PX * np.where(far < 1, np.cos(far * np.pi / 2) ** 2, 0)
    bent = cv2.remap(page, (x - off).astype(np.float32), y, cv2.INTER_LINEAR)
    return told_as_jpeg(np.pad(bent, EDGE, constant_values=90))


def told_as_jpeg(grey):
    told = io.BytesIO()
    Image.fromarray(grey).save(told, "JPEG", quality=85)
    told.seek(0)
    return told


def at_px(x_mm, y_mm):
    """A place on the paper in the picture that stands upright."""
    return [x_mm * PX + EDGE - 0.5, y_mm * PX + EDGE - 0.5]


def brought(season, stream):
    return bring_in_scan(season, stream, "scan.jpg")


def read(season, stream):
    scan = brought(season, stream)
    read_scan(scan)
    scan.refresh_from_db()
    return scan


class TestSheets:
    @pytest.mark.parametrize("quarters", [0, 3])
    def test_a_scan_goes_to_its_squares_however_it_lies(
        self, season, block, stage, squares, quarters
    ):
        scan = read(season, picture_of(block, quarters))

        assert (scan.state, scan.words, scan.sheet) == (ScanState.FILED, "", block)
        drawing = Drawing.objects.get()
        assert (drawing.n, drawing.scale, drawing.kind) == (block.n, 20, "plan")
        drawn = list(drawing.squares.order_by("square__row", "square__column"))
        assert [one.square for one in drawn] == squares
        assert {(one.stage, one.extent) for one in drawn} == {(stage, "")}
        # Its upper edge is up now: the paper's upper left corner lies at 30 px on either axis.
        area = block.layout.area
        lower_left = at_px(area.x_mm, area.y_mm + area.height_mm)
        for one in drawn:
            at = to_plane(one.placement.as_value, lower_left)
            assert at == pytest.approx([3.0, 4.0], abs=0.01)  # 0.5 mm of paper at 1:20
            assert one.placement.rms_mm < 5
            assert one.placement.degrees_of_freedom == 24

    def test_the_job_reads_whatever_waits(self, season, sheet, django_capture_on_commit_callbacks):
        with django_capture_on_commit_callbacks(execute=True):
            scan = brought(season, picture_of(sheet))
            brought(season, picture_of(sheet))

        (asked,) = Job.objects.filter(kind="scans")
        perform(_claim(str(asked.pk)))
        scan.refresh_from_db()
        assert scan.state == ScanState.FILED
        assert Drawing.objects.get().made_by == scan.made_by

    def test_one_that_cannot_be_read_keeps_no_other_waiting(
        self, season, sheet, django_capture_on_commit_callbacks, monkeypatch
    ):
        """A decoder may fail in any way; who brought a scan may have left the site since."""
        left = make_member(season.site)
        with django_capture_on_commit_callbacks(execute=True):
            odd = brought(season, told_as_jpeg(np.full((20, 20), 180, np.uint8)))
            with acting_as(left.account):
                good = brought(season, picture_of(sheet))
        left.delete()
        reading = scans.read_print

        def fails_on_the_first(grey):
            if grey.shape == (20, 20):
                raise TypeError("as an unlisted fault of a library would be")
            return reading(grey)

        monkeypatch.setattr(scans, "read_print", fails_on_the_first)
        job = Job.objects.filter(kind="scans").latest("asked_at")
        perform(_claim(str(job.pk)))

        odd.refresh_from_db()
        good.refresh_from_db()
        assert (odd.state, good.state) == (ScanState.BY_HAND, ScanState.FILED)
        assert "The original is kept" in odd.words

    def test_one_that_still_waits_when_fieldwork_closes_is_told(self, season, sheet):
        scan = brought(season, picture_of(sheet))
        SeasonEvent.objects.create(season=season, kind="fieldwork_closed", reason="done")

        read_scan(scan)

        scan.refresh_from_db()
        assert scan.state == ScanState.BY_HAND
        assert "Fieldwork of this season is closed" in scan.words

    def test_the_qr_code_is_a_second_witness_of_which_sheet_it_is(self, season, sheet):
        """Another record's sheet may bear the same corner codes: there are two million numbers."""
        other = UUID(int=sheet.pk.int % SHORTS)
        scan = read(season, picture_of(sheet, qr=qr_text(PrintKind.SHEET, other)))

        assert (scan.state, scan.sheet) == (ScanState.BY_HAND, None)
        assert "its QR code names a sheet that this record did not print" in scan.words

    def test_the_qr_code_says_which_sheet_it_is_where_a_corner_is_covered(self, season, sheet):
        own = qr_text(PrintKind.SHEET, sheet.pk)
        scan = read(season, picture_of(sheet, qr=own, covered_mm=30))

        assert (scan.state, scan.sheet) == (ScanState.BY_HAND, sheet)
        assert "The upper left corner code is not seen" in scan.words

    def test_two_workers_at_one_scan_file_it_once(self, season, sheet):
        scan = brought(season, picture_of(sheet))
        read_scan(scan)
        read_scan(scan)

        scan.refresh_from_db()
        assert (scan.state, Drawing.objects.count()) == (ScanState.FILED, 1)

    def test_a_sheet_scanned_twice_is_told_and_counts_once(self, season, sheet):
        read(season, picture_of(sheet))
        with pytest.raises(Refused, match="in the record already"):
            brought(season, picture_of(sheet))

        other = read(season, picture_of(sheet, 2))

        assert other.state == ScanState.BY_HAND
        assert f"{sheet} was scanned before" in other.words
        assert Drawing.objects.count() == 1

    def test_a_void_sheet_is_told(self, season, sheet):
        void_sheet(sheet, "torn")

        assert read(season, picture_of(sheet)).words == f"{sheet} was made void: torn"

    def test_a_sheet_of_another_season_or_site_is_told(self, season, sheet):
        later = make_season(season.site)

        assert f"a sheet of the season {season.code}" in read(later, picture_of(sheet)).words
        elsewhere = make_season()
        with acting_as(make_member(elsewhere.site).account):
            words = read(elsewhere, picture_of(sheet)).words
        assert "not printed for this site" in words
        assert Drawing.objects.count() == 0

    def test_a_stage_that_closed_meanwhile_leaves_nothing_half_written(
        self, season, block, stage, squares
    ):
        goal = stage.goals.get(square=squares[2])
        goal.delete()

        scan = read(season, picture_of(block))

        assert scan.state == ScanState.BY_HAND
        assert "is not open for" in scan.words
        assert Drawing.objects.count() == 0
        make_goal(stage, squares[2])
        read_scan(read_again(scan))
        assert Drawing.objects.get().n == block.n

    def test_a_drawing_made_void_is_brought_in_by_hand_under_a_new_number(self, season, sheet):
        read(season, picture_of(sheet))
        void_drawing(Drawing.objects.get(), "askew")

        scan = read(season, picture_of(sheet, 1))

        assert "gets a new number" in scan.words
        by_hand = bring_in_drawing(season, scan.picture, DrawingEntry(), uuid4())
        assert by_hand.n > sheet.n
        assert sheets_of(season)[0].drawing.is_voided

    def test_what_is_no_sheet_is_kept_and_says_why(self, season):
        told = io.BytesIO()
        Image.new("L", (400, 300), 180).save(told, "JPEG")
        told.seek(0)

        scan = read(season, told)

        assert scan.state == ScanState.BY_HAND
        assert "None of the four corner codes" in scan.words
        odd = bring_in_scan(season, told_as_jpeg(np.full((9, 9), 7, np.uint8)), "odd\u202e.jpg")
        assert same_as(odd, "odd\u202e.jpg") == ""  # kept under a name that can be shown
        assert scan.picture.file.size_bytes > 0

    def test_a_closed_season_takes_none(self, season, sheet):
        stream = picture_of(sheet)
        SeasonEvent.objects.create(season=season, kind="fieldwork_closed", reason="done")

        with pytest.raises(Closed):
            brought(season, stream)
        assert Scan.objects.count() == 0


class TestFilm:
    @pytest.fixture
    def board(self, season):
        return print_board(season, BoardEntry(scale=20, columns=2, rows=2), uuid4())

    def test_a_board_says_where_and_a_person_which(self, season, board, squares, stage):
        scan = read(season, picture_of(board, 1))
        assert (scan.state, Drawing.objects.count()) == (ScanState.ON_BOARD, 0)

        drawing = file_film(scan, squares[:2], stage)

        assert [one.square for one in drawing.squares.order_by("square__column")] == squares[:2]
        area = board.layout.area
        lower_left = at_px(area.x_mm, area.y_mm + area.height_mm)
        for one in drawing.squares.all():
            at = to_plane(one.placement.as_value, lower_left)
            assert at == pytest.approx([3.0, 4.0], abs=0.01)

    def test_more_squares_than_the_board_holds_are_refused(self, season, board, squares, stage):
        scan = read(season, picture_of(board))
        far = make_square(squares[0].grid, 9, 4)
        make_goal(stage, far)

        with pytest.raises(Refused, match="2 × 2 squares"):
            file_film(scan, [squares[0], far], stage)

    def test_a_board_serves_the_site_s_other_seasons(self, season, board):
        assert read(make_season(season.site), picture_of(board)).state == ScanState.ON_BOARD


class TestPages:
    @pytest.fixture
    def crew(self, season):
        client = Client()
        client.force_login(make_member(season.site, Role.CREW).account)
        return client

    def test_sheets_are_printed_for_a_square_and_listed(self, season, squares, crew):
        asked = reverse("sheets_new", args=[season.code])
        assert b'value="N11"' in crew.get(f"{asked}?squares=N11").content

        said = {"id": uuid4(), "squares": "N11-O12", "pile": "together", "paper": "a4"}
        answer = crew.post(asked, said | {"scale": "10", "lines": "20"}, follow=True)

        sheet = PrintedSheet.objects.get()
        assert answer.status_code == 200
        assert "1 sheet is ready" in answer.content.decode()
        assert "print without margins" in answer.content.decode()  # 200 mm on 210
        pdf = crew.get(reverse("sheets_print", args=[season.code, sheet.printing]))
        assert pdf["Content-Type"] == "application/pdf"
        (page,) = pypdfium2.PdfDocument(pdf.content)
        text, high, pt = page.get_textpage(), sheet.layout.size_mm[1], 72 / 25.4
        assert "5 mm from the paper's edge" in text.get_text_range()
        for code in sheet.layout.codes:  # no words lie across a code
            low, right = high - code.y_mm - code.height_mm, code.x_mm + code.width_mm
            box = (code.x_mm, low, right, high - code.y_mm)
            assert text.get_text_bounded(*(one * pt for one in box)) == ""
        said |= {"scale": "10", "lines": "20"}
        assert crew.post(asked, said).status_code == 303  # the same form, sent twice
        said["id"] = uuid4()  # Back draws it afresh
        again = crew.post(asked, said)
        assert (again.status_code, PrintedSheet.objects.count()) == (422, 1)
        assert f"You made {sheet} for this a moment ago" in again.content.decode()
        assert crew.post(asked, said | {"again": "on"}).status_code == 303
        assert PrintedSheet.objects.count() == 2

    def test_a_list_of_many_sheets_asks_as_much_as_one_of_few(
        self, season, stage, squares, crew, django_assert_num_queries
    ):
        address = reverse("sheets", args=[season.code])
        make_sheet(stage, squares[:1])
        with CaptureQueriesContext(connection) as few:
            crew.get(address)
        pile = PrintEntry([SheetEntry([square], stage) for square in squares])
        (first, *_others) = print_sheets(season, pile, uuid4())
        with django_assert_num_queries(len(few)):
            page = crew.get(address).content.decode()
        assert "Print its pile of 4 again" in page
        assert reverse("sheets_print", args=[season.code, first.printing]) in page

    def test_what_cannot_be_printed_is_said_beside_its_field(self, season, squares, crew):
        said = {"id": uuid4(), "squares": "N11 O12", "pile": "together", "paper": "a4"}
        answer = crew.post(
            reverse("sheets_new", args=[season.code]), said | {"scale": "10", "lines": "20"}
        )

        assert answer.status_code == 422
        assert "full rectangle" in answer.content.decode()
        said |= {"scale": "10", "lines": "20", "squares": "N11", "underlay": "on"}
        answer = crew.post(reverse("sheets_new", args=[season.code]), said)
        assert answer.status_code == 422
        assert "No photograph covers N11 yet" in answer.content.decode()
        assert not PrintedSheet.objects.exists()

    def test_a_pile_comes_in_and_each_scan_tells_what_became_of_it(
        self, season, sheet, crew, django_capture_on_commit_callbacks
    ):
        none = io.BytesIO()
        Image.new("L", (400, 300), 180).save(none, "PNG")
        none.seek(0)
        none.name, filed = "table.png", picture_of(sheet)
        filed.name = "sheet.jpg"
        address = reverse("scans", args=[season.code])

        with django_capture_on_commit_callbacks(execute=True):
            answer = crew.post(address, {"files": [none, filed]})
        answer = crew.get(address)
        assert "2 scans are being read" in answer.content.decode()
        assert "It is the same file" not in answer.content.decode()
        filed.seek(0)
        filed.name = "sheet again.jpg"
        again = crew.post(address, {"files": [filed]}, follow=True).content.decode()
        assert "sheet again.jpg: It is the same file as sheet.jpg" in again
        Job.objects.filter(kind="scans").update(state=JobState.FAILED)
        stopped = crew.get(address).content.decode()
        assert "2 scans wait: reading them came to a stop" in stopped
        assert "Start it again" in stopped
        for scan in Scan.objects.all():
            read_scan(scan)
        page = crew.get(address).content.decode()

        assert "1 scan could not be filed by itself" in page
        assert "1 of the 2 scans below are filed." in page
        for place in ("shed", "pictures"):
            told = crew.get(reverse(place, args=[season.code])).content.decode()
            assert "1 scan waits for somebody" in told, place
        assert str(sheet) in page
        assert (
            "Scans: 1 waits" in crew.get(reverse("drawings", args=[season.code])).content.decode()
        )
        by_hand = Scan.objects.get(state=ScanState.BY_HAND)
        asked = f"{reverse('drawing_new', args=[season.code])}?picture={by_hand.picture_id}"
        assert f'value="{by_hand.picture_id}"' in crew.get(asked).content.decode()

    def test_of_a_filed_sheet_what_nobody_said_is_asked_and_paper_not_flat_is_told(
        self, season, sheet
    ):
        lead = Client()
        lead.force_login(make_member(season.site, Role.LEAD).account)
        scan = read(season, bulging(sheet))
        assert (scan.state, scan.sheet, scan.is_bent) == (ScanState.FILED, sheet, True)
        # The crossings nearest the middle are 14.1 mm from it: 3·cos²(π/2 · 14.1/60) mm off.
        assert scan.lines_off_mm == pytest.approx(2.61, abs=0.15)
        bent = f"printed lines lie up to {scan.lines_off_mm:.1f} mm"
        assert bent in lead.get(reverse("scans", args=[season.code])).content.decode()
        drawing = Drawing.objects.get()
        drawn = drawing.squares.get()
        assert drawing.frame_lies == ""

        words = "The sheet filed itself: nobody has said yet whether the frame lay level"
        unsaid = "how much of N11 is drawn"
        page = reverse("drawing", args=[season.code, drawing.pk])
        check = reverse("drawing_check", args=[season.code, drawn.pk])
        first = lead.get(page).content.decode()
        assert words in first
        assert unsaid in first
        blind = {"id": uuid4(), "version": drawn.version, "verdict": "accepted"}
        answer = lead.post(check, blind)
        assert (answer.status_code, drawn.checks.count()) == (422, 0)
        again = answer.content.decode()
        assert f"Say {unsaid}" in again
        assert bent in again
        Scan.objects.update(flatness={"crossings": 36, "answered": 4})
        assert words in again
        address = reverse("drawing_edit", args=[season.code, drawing.pk])
        said = {"squares": "N11", "kind": "plan", "scale": "10", "version": drawing.version}
        said[f"extent_{drawn.pk}"] = "part"
        assert lead.post(address, said).status_code == 422
        assert lead.post(address, said | {"frame_lies": "slope"}).status_code == 303
        now = lead.get(page).content.decode()
        assert words not in now
        assert unsaid not in now
        assert "<ins>a part of it</ins>" in now
        stale = lead.post(check, blind)
        assert stale.status_code == 409  # it was said meanwhile
        assert "of 36 crossings of its printed lines 4 are seen" in stale.content.decode()
        assert lead.post(check, blind | {"version": 2}).status_code == 303
        drawn.refresh_from_db()
        assert (drawn.extent, drawn.checks.count()) == ("part", 1)

    def test_a_board_asks_its_side_where_grids_differ(self, season, squares, crew):
        address = reverse("board_new", args=[season.code])
        said = {"paper": "a4", "scale": "20", "lines": "20", "columns": "1", "rows": "1"}
        assert "Side of its squares" not in crew.get(address).content.decode()
        make_grid(season.site, side_m=2)

        assert crew.post(address, said | {"id": uuid4()}).status_code == 422
        assert crew.post(address, said | {"id": uuid4(), "side": "2"}).status_code == 303
        assert PrintedSheet.objects.get().side_m == 2
        boards = crew.get(reverse("sheets", args=[season.code])).content.decode()
        assert "1 × 1, squares of 2 m" in boards

    def test_film_is_named_on_its_page(self, season, stage, squares, crew):
        later = make_stage(season)
        make_goal(later, squares[1])
        board = print_board(season, BoardEntry(), uuid4())
        scan = read(season, picture_of(board))
        address = reverse("scan_film", args=[season.code, scan.pk])

        said_done, drew = make_dive(make_day(season)), make_dive(make_day(season, vessel="Blue"))
        for dive, square, outcome in ((said_done, 2, "done"), (drew, 3, "part")):
            dive.tasks.create(
                square=squares[square], stage=stage, method="drawing", outcome=outcome
            )
        page = crew.get(address)
        assert "Which square does this film show?" in page.content.decode()
        offered = [one.label for one in page.context["to_draw"].all]
        assert offered == ["N12", "N11", "O11", "O12"]
        assert [one.label for one in page.context["to_draw"].likely] == ["N12"]
        of_dive = crew.get(address, {"dive": drew.pk}).context["to_draw"]
        assert [one.label for one in of_dive.likely] == ["O12"]
        said = {"squares": "N11", "version": scan.version, "frame_lies": "slope"}
        assert crew.post(address, said | {"stage": stage.pk}).status_code == 422
        said["extent"] = "part"
        closed = crew.post(address, said | {"stage": later.pk, "tag": "99"})
        assert closed.status_code == 422
        assert f"open there: {stage}" in closed.content.decode()
        assert "99 is in no block" in closed.content.decode()  # told at once
        mixed = crew.post(address, said | {"squares": "N11 O11"}).content.decode()
        assert f"different stages. Choose; open for all: {stage}." in mixed
        answer = crew.post(address, said)  # the present stage of N11, not the season's latest

        assert answer.status_code == 303
        assert Drawing.objects.get().frame_lies == "slope"
        drawn = Drawing.objects.get().squares.get()
        assert (drawn.stage, drawn.extent) == (stage, "part")
        assert Drawing.objects.get().squares_on_sheet == "N11"
        again = crew.post(address, said | {"stage": stage.pk})
        assert again.status_code == 409
