"""Printed sheets: numbered ahead, in a layout of their own, at true size."""

import io
from uuid import uuid4

import numpy as np
import pypdfium2
import pytest
from django.core.exceptions import PermissionDenied
from django.core.files.base import ContentFile
from django.core.files.storage import storages
from django.db import transaction
from django.test import Client
from django.urls import reverse
from PIL import Image

from records.acting import acting_as
from records.archive.sheet_print import _neighbours, sheets_pdf
from records.models import Fix, NumberEnd, PrintedSheet, Restriction, Role, SeasonEvent
from records.queries.underlays import laid_under, underlay_window, white_labels
from records.refusals import Closed, Conflict, Refused
from records.verbs.placing import MarkEntry, placed_by_marks
from records.verbs.sheets import (
    BoardEntry,
    PrintEntry,
    SheetEntry,
    print_board,
    print_sheets,
    void_sheet,
)
from survey.print_codes import PrintKind, short_of
from survey.print_reading import read_print, register_print
from tests.factory import (
    make_block,
    make_find,
    make_goal,
    make_grid,
    make_member,
    make_square,
)
from tests.factory_drawings import make_drawing, make_drawn_square
from tests.factory_pictures import make_card, make_frame, make_photograph, make_run


@pytest.fixture
def squares(season, stage):
    """K7, L7, K8, L8."""
    grid = make_grid(season.site, first_column="K", first_row="7", bearing_deg=30)
    found = [make_square(grid, column, row) for row in (0, 1) for column in (0, 1)]
    for square in found:
        make_goal(stage, square)
    return found


def printed(season, stage, squares, **how):
    sheets = [SheetEntry([square], stage) for square in squares]
    return print_sheets(season, PrintEntry(sheets, **how), uuid4())


def rendered(pdf, dpi=150, page=0):
    document = pypdfium2.PdfDocument(pdf)
    return document[page].render(scale=dpi / 72, grayscale=True).to_numpy().copy()


class TestNumbers:
    def test_each_sheet_has_a_number_of_a_block_and_drawings_pass_them_over(
        self, season, stage, squares
    ):
        make_drawing(season)

        sheets = printed(season, stage, squares[:3])

        assert [one.n for one in sheets] == [2, 3, 4]
        assert (sheets[0].block.first, sheets[0].block.last) == (2, 4)
        assert make_drawing(season).n == 5
        assert all(one.short == short_of(one.pk) for one in sheets)
        assert str(sheets[0]) == f"{season.code}-drawing-2"

    def test_a_double_submit_is_one_pile(self, season, stage, squares):
        entry, key = PrintEntry([SheetEntry(squares, stage)]), uuid4()

        assert print_sheets(season, entry, key) == print_sheets(season, entry, key)
        assert PrintedSheet.objects.count() == 1

    def test_a_pair_s_block_gives_its_numbers_until_they_end(self, season, stage, squares):
        block = make_block(season, kind="drawing", first=41, last=42)

        assert [one.n for one in printed(season, stage, squares[:2], block=block)] == [41, 42]
        with pytest.raises(Refused, match="only 0 numbers"):
            printed(season, stage, squares[:1], block=block)

    def test_a_spoilt_sheet_ends_its_number(self, season, stage, squares):
        (sheet,) = printed(season, stage, squares[:1])

        void_sheet(sheet, "torn under water")

        end = NumberEnd.objects.get()
        assert (end.n, end.end, end.reason) == (sheet.n, "void", "torn under water")
        with pytest.raises(Conflict):
            void_sheet(sheet, "again")

    def test_two_keys_of_one_number_in_the_codes_never_stand_beside_each_other(
        self, season, stage, squares, monkeypatch
    ):
        monkeypatch.setattr("records.verbs.sheets.short_of", lambda key: key.int % 3)

        shorts = {one.short for one in printed(season, stage, squares[:3])}

        assert shorts == {0, 1, 2}


class TestRefusals:
    def test_a_block_is_a_rectangle_that_fits_its_paper(self, season, stage, squares):
        with pytest.raises(Refused, match="full rectangle"):
            print_sheets(season, PrintEntry([SheetEntry(squares[:3], stage)]), uuid4())
        with pytest.raises(Refused, match="too large for A4"):
            print_sheets(season, PrintEntry([SheetEntry(squares, stage)], scale=5), uuid4())

    def test_a_square_without_an_open_stage_is_told(self, season, stage, squares):
        other = make_square(squares[0].grid, 5, 5)

        with pytest.raises(Refused, match="is not open for P12"):
            printed(season, stage, [other])

    def test_readers_print_none_and_a_closed_season_none(self, season, stage, squares):
        with (
            acting_as(make_member(season.site, Role.READER).account),
            pytest.raises(PermissionDenied),
        ):
            printed(season, stage, squares)
        SeasonEvent.objects.create(season=season, kind="fieldwork_closed", reason="done")
        with pytest.raises(Closed):
            printed(season, stage, squares)
        with pytest.raises(Closed):
            print_board(season, BoardEntry(), uuid4())


class TestPrint:
    """Rendered by PDFium, which has no part in making it."""

    def test_a_sheet_is_read_from_its_print(self, season, stage, squares):
        find = make_find(season, square=squares[0])
        Fix.objects.create(find=find, grid=squares[0].grid, x_m=0.5, y_m=0.5, sigma_m=0.01)
        hidden = make_find(season, restriction=Restriction.ORDNANCE)
        Fix.objects.create(find=hidden, grid=squares[0].grid, x_m=0.2, y_m=0.2, sigma_m=0.01)
        (sheet,) = printed(season, stage, squares[:1])
        pdf = sheets_pdf([sheet])

        assert [one["label"] for one in _neighbours(sheet, sheet.grid)] == ["K8", "L7"]
        text = pypdfium2.PdfDocument(pdf)[0].get_textpage().get_text_range()
        for words in (
            "K7",
            str(sheet),
            "site north",
            "Divers",
            "whole square",
            "no dive plan",
            "100 mm",
            "50 cm at 1:10",
        ):
            assert words in text
        assert f"\n{find.n}\r" in f"\n{text}" or f"{find.n}" in text.split()
        assert str(hidden.n) not in text.split()
        page = np.pad(rendered(pdf), 20, constant_values=80)
        seen = read_print(page)
        assert (seen.identity.kind, seen.identity.short) == (PrintKind.SHEET, sheet.short)
        # The render's raster is half a pixel, 0.08 mm, at 150 dpi.
        assert register_print(page, seen, sheet.layout).rms_mm < 0.08

    def test_the_check_bar_and_the_frame_are_100_mm_long(self, season, stage, squares):
        dpi = 300
        (sheet,) = printed(season, stage, squares[:1])
        page = rendered(sheets_pdf([sheet]), dpi)
        mm = dpi / 25.4

        bar = page[round((297 - 23.6) * mm)] < 90
        assert _longest_run(bar) / mm == pytest.approx(100, abs=0.15)
        area = sheet.layout.area
        across = page[round((area.y_mm + 65) * mm)].astype(int)
        edges = np.flatnonzero(across < 90)
        assert (edges.max() - edges.min()) / mm == pytest.approx(100 + 0.5, abs=0.2)

    @pytest.mark.parametrize("scale", [10, 20])
    def test_the_scale_bar_is_50_cm_long_in_the_drawing(self, season, stage, squares, scale):
        dpi = 300
        (sheet,) = printed(season, stage, squares[:1], scale=scale)
        mm = dpi / 25.4
        # Between the lower codes, through the bar's outline of 0.2 mm.
        row = rendered(sheets_pdf([sheet]), dpi)[round((297 - 9.5) * mm), round(51 * mm) :]
        bar = row[: round(120 * mm)] < 128
        assert _longest_run(bar) / mm == pytest.approx(500 / scale + 0.2, abs=0.2)

    @pytest.mark.parametrize("slope_deg", [90, -60])
    def test_a_wall_has_an_up_arrow_and_no_north(self, season, stage, slope_deg):
        wall = make_grid(season.site, slope_deg=slope_deg)
        square = make_square(wall)
        make_goal(stage, square)
        (sheet,) = printed(season, stage, [square])
        pdf = sheets_pdf([sheet])

        text = pypdfium2.PdfDocument(pdf)[0].get_textpage().get_text_range()
        assert "elevation" in text
        assert {"up", "upright"} <= set(text.split())
        assert "north" not in text
        # The arrow, 16 mm high, stands right of the square, its head 4 mm wide, its shaft 1.
        upper, lower = (rendered(pdf, 127)[v : v + 40, 835:915] < 128 for v in (165, 205))
        widest = [half.sum(axis=1).max() for half in (upper, lower)]
        assert min(widest) <= 8 < 16 <= max(widest)
        assert (widest[0] > widest[1]) == (slope_deg > 0)

    def test_a_board_is_read_too_and_names_no_square(self, season):
        board = print_board(season, BoardEntry(scale=20, columns=3, rows=3), uuid4())
        pdf = sheets_pdf([board])
        page = np.pad(rendered(pdf), 20, constant_values=80)
        text = pypdfium2.PdfDocument(pdf)[0].get_textpage().get_text_range()
        for words in ("marked corner", "up: +y", "50 cm at 1:20"):
            assert words in text

        seen = read_print(page)
        assert (seen.identity.kind, seen.identity.short) == (PrintKind.BOARD, board.short)
        assert register_print(page, seen, board.layout).rms_mm < 0.08


class TestUnderlay:
    def test_a_photograph_lies_faintly_under_its_square_once_it_is_drawn(
        self, season, stage, squares
    ):
        drawn = make_drawn_square(make_drawing(season), squares[0], stage)
        (sheet,) = print_sheets(
            season, PrintEntry([SheetEntry(squares[:1], stage, [drawn.placement])]), uuid4()
        )
        bare = _middle(rendered(sheets_pdf([sheet])), sheet)
        window = underlay_window(sheet)
        told = io.BytesIO()
        Image.new("RGBA", (window.width_px, window.height_px), (0, 0, 0, 255)).save(told, "WEBP")
        storages["default"].save(window.name, ContentFile(told.getvalue()))

        assert bare.max() == 255
        # What is drawn and printed on its black is seen: WCAG 2.2, 1.4.11, asks 3 to 1 of lines.
        page, area, mm = rendered(sheets_pdf([sheet]), 300), sheet.layout.area, 300 / 25.4
        black = np.median(_middle(page, sheet, 300))
        pencil = 90
        assert black < 230
        assert _contrast(black, pencil) >= 3
        v, u = round((area.y_mm + 45) * mm), round((area.x_mm + 40) * mm)
        line = page[v, u - 8 : u + 8]  # the thin line at 40 cm, and its white rim
        assert _contrast(line.max(), line.min()) >= 3
        assert _contrast(black, line.min()) >= 3

    def test_all_frames_that_were_there_lie_under_it_the_best_uppermost(
        self, season, stage, squares
    ):
        card = make_card(make_run(season, stage=stage, grid=squares[0].grid))
        best, beside = make_frame(card, 1), make_frame(card, 2)
        entry = SheetEntry(squares[:2], stage, laid_under(squares[:2], stage))
        bare = SheetEntry(squares[2:3], stage, laid_under(squares[2:3], stage))
        sheets = print_sheets(season, PrintEntry([entry, bare]), uuid4())
        make_frame(card, 1)  # later: the sheet comes out as it did
        beside.is_kept, beside.left_out_reason = False, "blurred"
        beside.save()

        near = [(one["side"], one["label"]) for one in _neighbours(sheets[0], squares[0].grid)]
        assert near == [("up", "K8"), ("up", "L8")]
        window = underlay_window(sheets[0])

        laid = [one.placement_id for one in window.pieces]
        assert laid == [beside.placement_id, best.placement_id]
        assert window.box == (0, 0, 2, 1)
        assert white_labels(sheets) == ["K8"]
        text = pypdfium2.PdfDocument(sheets_pdf(sheets))[0].get_textpage().get_text_range()
        numbers = sorted(one.photograph.n for one in (best, beside))
        assert f"over photographs {numbers[0]}–{numbers[1]}" in text

    def test_its_check_says_over_which_photograph_it_was_printed(self, season, stage, squares):
        photograph = make_photograph(season)
        marks = [MarkEntry(100 + 800 * x, 1100 - 800 * y, x, y) for x in (0, 1) for y in (0, 1)]
        with transaction.atomic():
            placement = placed_by_marks(photograph.picture, squares[0].grid, marks)
        (sheet,) = print_sheets(
            season, PrintEntry([SheetEntry(squares[:1], stage, [placement])]), uuid4()
        )
        over = make_drawn_square(make_drawing(season, n=sheet.n), squares[0], stage)
        bare = make_drawn_square(make_drawing(season), squares[1], stage)
        lead = Client()
        lead.force_login(make_member(season.site, Role.LEAD).account)

        pages = [
            lead.get(reverse("drawing_check", args=[season.code, one.pk])).content.decode()
            for one in (over, bare)
        ]
        words = f"Drawn over a print of photograph {photograph.n}: check what the diver added."
        assert [words in one for one in pages] == [True, False]
        page = lead.get(reverse("drawing", args=[season.code, over.drawing_id])).content.decode()
        assert "Drawn over a print of" in page


def _contrast(light, dark):
    """WCAG 2.2's contrast ratio of two greys of sRGB."""
    light, dark = (
        one / 12.92 if one <= 0.04045 else ((one + 0.055) / 1.055) ** 2.4
        for one in (light / 255, dark / 255)
    )
    return (light + 0.05) / (dark + 0.05)


def _middle(page, sheet, dpi=150):
    """Inside the square, between its lines."""
    area, mm = sheet.layout.area, dpi / 25.4
    top, left = round((area.y_mm + 45) * mm), round((area.x_mm + 45) * mm)
    return page[top : top + 40, left : left + 40]


def _longest_run(flags):
    edges = np.flatnonzero(np.diff(np.concatenate([[0], flags.astype(int), [0]])))
    return max(edges[1::2] - edges[::2])
