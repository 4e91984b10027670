"""PDFs and TIFFs of several pages under Scans: each page a picture, checked against Pillow's."""

import io
from datetime import timedelta

import numpy as np
import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from PIL import Image, ImageDraw

import records.intake.pages
from records.acting import acting_as
from records.intake.decode import TURNS
from records.intake.originals import open_original
from records.intake.pdf_pages import count_pages, pdf_page
from records.intake.scans import bring_in_scan, read_scan
from records.intake.sweep import sweep
from records.intake.tiff_pages import tiff_page
from records.jobs import _claim, perform
from records.models import (
    Drawing,
    FilePage,
    FindPicture,
    Job,
    JobState,
    PagedFile,
    Picture,
    Role,
    Scan,
    ScanState,
    StoredFile,
)
from records.progress import Ending, Unseen
from records.refusals import Refused
from tests import made_files as made
from tests import made_pdfs
from tests.factory import (
    make_find,
    make_goal,
    make_grid,
    make_member,
    make_season,
    make_square,
    make_stage,
)
from tests.factory_drawings import make_sheet
from tests.records.test_scans import picture_of


def drawn(mode="RGB", size=(80, 120)):
    """Lines that look different whichever way they are turned."""
    width, height = size
    sheet = Image.new("RGB", size, "white")
    pen = ImageDraw.Draw(sheet)
    pen.rectangle((width * 0.1, height * 0.1, width * 0.6, height * 0.2), fill="navy")
    pen.line((width * 0.2, height * 0.9, width * 0.8, height * 0.3), fill="black", width=5)
    return sheet.convert(mode)


def page_of(content):
    """The first page's bytes, the picture in them, and how it is to be turned."""
    told, orientation = pdf_page(io.BytesIO(content), 1)
    return told.getvalue(), Image.open(told), orientation


def same(picture, other):
    """To the last dot."""
    return np.array_equal(np.asarray(picture.convert("RGB")), np.asarray(other.convert("RGB")))


class TestPagesOfAPdf:
    @pytest.mark.parametrize("mode", ["L", "RGB"])
    def test_a_jpeg_is_taken_out_as_it_stands_in_the_file(self, mode):
        content = made_pdfs.pile_of(drawn(mode), quality=60)

        told, picture, orientation = page_of(content)

        assert picture.format == "JPEG"
        assert told in content
        assert same(picture, Image.open(io.BytesIO(made.encoded(drawn(mode), "JPEG", quality=60))))
        assert orientation == 1

    @pytest.mark.parametrize("mode", ["1", "P"])
    def test_other_rasters_are_taken_out_without_loss(self, mode):
        _told, picture, orientation = page_of(made_pdfs.pile_of(drawn(mode)))

        assert (picture.format, orientation) == ("PNG", 1)
        assert picture.mode == {"1": "1", "P": "RGB"}[mode]
        assert same(picture, drawn(mode))

    @pytest.mark.parametrize(
        ("matrix", "turned", "orientation"),
        [
            ("40 0 0 60 0 0", 0, 1),
            ("-40 0 0 60 40 0", 0, 2),
            ("-40 0 0 -60 40 60", 0, 3),
            ("40 0 0 -60 0 60", 0, 4),
            ("0 -60 -40 0 40 60", 0, 5),
            ("0 -60 40 0 0 60", 0, 6),
            ("0 60 40 0 0 0", 0, 7),
            ("0 60 -40 0 40 0", 0, 8),
            ("40 0 0 60 0 0", 90, 6),
            ("40 0 0 60 0 0", 180, 3),
            ("0 60 -40 0 40 0", 90, 1),
        ],
    )
    def test_a_raster_is_told_to_be_turned_as_its_page_shows_it(self, matrix, turned, orientation):
        """Orientations by ISO 32000-1, 8.3.3 and 7.7.3.3 (Rotate), and EXIF 2.3, 4.6.4 A."""
        sheet = drawn(size=(120, 80) if matrix.startswith("0") else (80, 120))

        content = made_pdfs.pdf_of(sheet, f"q {matrix} cm /Im Do Q", page=f"/Rotate {turned}")
        _told, picture, found = page_of(content)

        assert found == orientation
        assert same(picture, sheet)

    def test_a_reader_s_unseen_words_and_what_lies_beneath_do_not_count(self):
        over = " BT /F 9 Tf 3 Tr 20 20 Td (K7) Tj ET"
        beneath = "1 0 0 rg 0 0 40 60 re f "

        _told, picture, _turn = page_of(
            made_pdfs.pdf_of(drawn(), beneath + made_pdfs.WHOLE_PAGE + over)
        )

        assert same(picture, drawn())

    def test_a_stencil_s_ink_is_dark(self):
        bits = drawn("1")
        _told, picture, _turn = page_of(
            made_pdfs.pdf_of(bits, image="/ImageMask true /BitsPerComponent 1")
        )

        assert same(picture, bits)

    @pytest.mark.parametrize(
        ("content", "of_page"),
        [
            (made_pdfs.WHOLE_PAGE + " BT /F 9 Tf 10 20 Td (K7) Tj ET", ""),
            ("q 20 0 0 30 10 20 cm /Im Do Q", ""),
            ("q 39 4 -4 59 2 0 cm /Im Do Q", ""),
            (made_pdfs.WHOLE_PAGE, "/CropBox [8 12 32 56]"),
            (made_pdfs.WHOLE_PAGE, "/Annots [<< /Type /Annot /Subtype /Ink /Rect [9 9 19 19] >>]"),
        ],
        ids=["written on", "not the whole page", "askew", "cropped", "with a note"],
    )
    def test_what_is_more_than_a_raster_is_rendered_at_300_dpi(self, content, of_page):
        _told, picture, orientation = page_of(made_pdfs.pdf_of(drawn(), content, page=of_page))

        points = (24, 44) if "Crop" in of_page else (40, 60)
        assert picture.size == pytest.approx([side * 300 / 72 for side in points], abs=1.1)
        assert (picture.format, orientation) == ("PNG", 1)
        assert (np.asarray(picture.convert("L")) < 99).any()

    def test_printers_inks_become_colours(self):
        _told, picture, _turn = page_of(made_pdfs.pile_of(drawn("CMYK")))

        off = np.asarray(picture, int) - np.asarray(drawn(), int)
        assert (picture.mode, picture.size) == ("RGB", (80, 120))
        assert np.abs(off).mean() < 12

    def test_too_many_dots_are_refused_before_they_are_unpacked(self):
        vast = made_pdfs.pdf_of(None, size=(60_000, 60_000))
        wide = made_pdfs.pdf_of(None, "", box="0 0 14400 14400")

        for content in (vast, wide):
            with pytest.raises(Refused, match="more than 200 million pixels"):
                page_of(content)

    def test_pages_are_counted_and_what_cannot_be_opened_is_told(self):
        pile = made_pdfs.pile_of(drawn(), drawn("L"), drawn("1"))
        assert count_pages(io.BytesIO(pile)) == 3

        bad = {
            "locked by a password": made_pdfs.locked(),
            "or has no pages": made_pdfs.without_pages(),
            "breaks off before its end": pile[: len(pile) * 2 // 3],
            "is damaged": b"%PDF-1.7\n" + bytes(500) + b"%%EOF",
            "has 101 pages; at most 100": made_pdfs.pile_of(*[Image.new("1", (8, 8))] * 101),
        }
        for words, content in bad.items():
            with pytest.raises(Refused, match=words):
                count_pages(io.BytesIO(content))


class TestPagesOfATiff:
    @pytest.mark.parametrize("mode", ["1", "L", "P", "RGB", "RGBA", "I;16"])
    def test_each_is_its_picture_to_the_last_dot(self, mode):
        if mode == "I;16":
            sheet = Image.fromarray(np.asarray(drawn("L"), np.uint16) * 257)
        else:
            sheet = drawn(mode)

        told, orientation = tiff_page(io.BytesIO(made_pdfs.tiff_of(drawn("1"), sheet)), 2)

        picture = Image.open(told)
        assert (picture.mode, orientation) == (mode, 1)
        assert np.array_equal(np.asarray(picture), np.asarray(sheet))

    def test_it_stands_as_its_orientation_says(self):
        turned = Image.Exif()
        turned[0x0112] = 6

        told, orientation = tiff_page(io.BytesIO(made_pdfs.tiff_of(drawn(), exif=turned)), 1)

        assert same(Image.open(told), drawn().transpose(TURNS[6][0]))
        assert (orientation, Image.open(told).getexif()) == (1, {})


@pytest.fixture
def season(db):
    return make_season()


@pytest.fixture
def client(crew):
    client = Client()
    client.force_login(crew)
    return client


@pytest.fixture
def dropped(season, crew, django_capture_on_commit_callbacks):
    """Drop a file; what is asked for on the way is asked."""

    def drop(content, name="pile.pdf"):
        with django_capture_on_commit_callbacks(execute=True):
            return bring_in_scan(season, io.BytesIO(content), name)

    return drop


def taken_out():
    """Run the job that waits; returns it as it ended."""
    job = Job.objects.get(kind="pages", state=JobState.WAITING)
    perform(_claim(str(job.pk)))
    job.refresh_from_db()
    return job


def bytes_of(file):
    with open_original(file) as original:
        return original.read()


def pile(*seeds):
    return made_pdfs.pile_of(*[made.pixels(60, 80, seed) for seed in seeds])


def shape():
    return {one: one.objects.count() for one in (PagedFile, FilePage, Picture, Scan, StoredFile)}


class TestAFileOfPages:
    def test_its_sheets_file_themselves_and_the_file_stays_as_it_came(self, season, crew, dropped):
        stage, grid = make_stage(season), make_grid(season.site)
        with acting_as(make_member(season.site, Role.LEAD).account):
            square = make_square(grid, 0, 0)
            make_goal(stage, square)
            sheet = make_sheet(stage, [square])
        page = Image.open(picture_of(sheet))
        content = made_pdfs.pile_of(page, drawn("1"), drawn("1"), resolution=200)

        whole = dropped(content)
        assert (whole.pages, bytes_of(whole.file), Scan.objects.count()) == (3, content, 0)
        job = taken_out()
        for scan in Scan.objects.all():
            read_scan(scan)

        assert (job.state, job.done, job.total) == (JobState.DONE, 3, 3)
        assert not whole.missing()
        drawing = Drawing.objects.get()
        assert (drawing.n, drawing.picture.original_name) == (sheet.n, "pile.pdf, page 1")
        assert bytes_of(drawing.picture.file) in content
        assert drawing.squares.get().square == square
        two, three = (whole.taken.get(page=page).picture for page in (2, 3))
        assert two == three
        assert same(Image.open(io.BytesIO(bytes_of(two.file))), drawn("1"))
        assert Scan.objects.get(picture=two).state == ScanState.BY_HAND
        assert {row.history_user for row in FilePage.history.all()} == {crew}

        before = shape()
        with pytest.raises(Refused, match=r"came in before as pile.pdf, with all its pages"):
            dropped(content, "again.pdf")
        assert shape() == before

    def test_cut_short_it_goes_on_with_what_is_missing(self, dropped, monkeypatch):
        whole = dropped(pile(1, 2, 3))
        act = records.intake.pages.take_in_page

        def killed(whole, page, *said):
            if page == 2:
                raise Ending  # its picture is kept already
            return act(whole, page, *said)

        monkeypatch.setattr(records.intake.pages, "take_in_page", killed)
        assert taken_out().state == JobState.WAITING
        assert (whole.missing(), Picture.objects.count()) == ([2, 3], 1)
        first = Picture.objects.get()

        monkeypatch.undo()
        assert dropped(pile(1, 2, 3)) == whole
        assert taken_out().state == JobState.DONE
        assert not whole.missing()
        assert (Picture.objects.count(), Scan.objects.count()) == (3, 3)
        assert whole.taken.get(page=1).picture == first

    def test_a_damaged_page_says_so_and_the_others_come_in(self, season, client, dropped):
        content = pile(1, 2, 3)
        second = made.encoded(made.pixels(60, 80, 2), "JPEG")
        assert content.count(second) == 1
        whole = dropped(content.replace(second, second[:300] + bytes(len(second) - 300)))
        taken_out()

        assert whole.missing() == [2]
        assert whole.taken.get(page=2).words.startswith("This page is damaged in the file")
        for scan in Scan.objects.all():
            read_scan(scan)
        shown = client.get(reverse("scans", args=[season.code])).content.decode()
        assert "2 of 3 pages are in." in shown
        assert "This page is damaged in the file" in shown
        assert "1 page could not be taken out of its file" in shown

        client.post(reverse("page_aside", args=[season.code, whole.taken.get(page=2).pk]))
        assert "damaged" not in client.get(reverse("scans", args=[season.code])).content.decode()
        dropped(bytes_of(whole.file))  # tried once more, so told once more
        taken_out()
        assert not whole.taken.get(page=2).is_voided

    def test_pages_of_a_tiff_come_in_the_same_way(self, season, client, dropped):
        content = made_pdfs.tiff_of(drawn("1"), drawn("L"))
        dropped(content, "pile.tif")
        address = reverse("scans", args=[season.code])
        assert "The pages of 1 file are being taken out" in client.get(address).content.decode()
        taken_out()

        shown = client.get(address).content.decode()
        assert shown.index("pile.tif, page 1<") < shown.index("pile.tif, page 2<")
        whole = PagedFile.objects.get()
        as_it_came = client.get(reverse("paged_original", args=[season.code, whole.pk]))
        assert b"".join(as_it_came.streaming_content) == content
        page = client.get(
            reverse("picture_original", args=[season.code, whole.taken.get(page=2).picture_id])
        )
        assert 'filename="pile.tif, page 2.png"' in page["Content-Disposition"]
        assert same(Image.open(io.BytesIO(b"".join(page.streaming_content))), drawn("L"))
        assert sweep(Unseen(), timezone.now() + timedelta(days=2)).without_picture == 0

    def test_a_smaller_copy_in_a_tiff_is_no_page(self, dropped):
        copy = Image.new("L", (40, 60))
        copy.encoderinfo = {"tiffinfo": {254: 1}}

        assert isinstance(dropped(made_pdfs.tiff_of(drawn("L"), copy), "sheet.tif"), Scan)

    def test_a_picture_that_came_in_before_stays_what_it_became(self, season, dropped):
        alone = dropped(made.encoded(made.pixels(60, 80, 1), "JPEG"), "one.jpg")
        read_scan(alone)

        dropped(pile(1, 2))
        taken_out()

        alone.refresh_from_db()
        assert alone.state == ScanState.BY_HAND
        assert FilePage.objects.get(page=1).picture == alone.picture
        assert Scan.objects.count() == 2

    def test_elsewhere_it_is_sent_to_the_scans(self, season, client):
        for content in (pile(1), made_pdfs.tiff_of(drawn("1"), drawn("L"))):
            file = io.BytesIO(content)
            file.name = "pile"
            answer = client.post(reverse("drawing_file", args=[season.code]), {"file": file})

            assert answer.status_code == 422
            assert "Drop it under Scans" in answer.json()["words"]
        assert StoredFile.objects.count() == 0

    def test_of_a_restricted_find_it_is_for_leads(self, season, client, dropped):
        whole = dropped(pile(1, 2))
        taken_out()
        address = reverse("paged_original", args=[season.code, whole.pk])
        assert client.get(address).status_code == 200

        find = make_find(season, restriction="human_remains")
        FindPicture.objects.create(find=find, picture=whole.taken.get(page=2).picture)

        assert client.get(address).status_code == 404
        assert b"pile.pdf<" not in client.get(reverse("scans", args=[season.code])).content

    def test_what_is_no_drawing_is_set_aside_and_brought_back(self, season, client, dropped):
        scan = dropped(made.jpeg(), "table.jpg")
        read_scan(scan)
        address = reverse("scans", args=[season.code])
        assert "1 scan could not be filed by itself" in client.get(address).content.decode()

        client.post(reverse("scan_aside", args=[season.code, scan.pk]))

        shown = client.get(address).content.decode()
        assert "could not be filed" not in shown
        assert "1 scan is set aside" in shown
        client.post(reverse("scan_again", args=[season.code, scan.pk]))
        scan.refresh_from_db()
        assert (scan.is_voided, scan.state) == (False, ScanState.WAITING)
