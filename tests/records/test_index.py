"""The season's index: registers, cross-index, files and print, against counts by plain SQL."""

import csv
import io
from datetime import UTC, datetime, timedelta, timezone

import pytest
from django.db import connection
from django.urls import reverse

from records.archive.columns import LETTERS_A_LINE, column_widths
from records.archive.cross_index import in_runs
from records.archive.registers import REGISTERS, Viewer
from records.archive.tables import csv_parts
from records.archive.typeset import printable
from records.jobs import _claim, perform
from records.models import Job, JobState, Role
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
from tests.factory_pictures import make_card, make_frame, make_photograph, make_run

pytestmark = pytest.mark.django_db


def client_of(client, season, role):
    account = make_member(season.site, role).account
    client.force_login(account, backend="records.sign_in.PasswordBackend")
    return client


def text(answer) -> str:
    return b"".join(answer.streaming_content).decode()


def test_exact_csv_follows_rfc_4180():
    # RFC 4180 section 2: CRLF; fields with quotes, commas or breaks in quotes; quotes doubled
    lines = "".join(csv_parts(["a,b", 'c"d', "plain"], [], UTC))

    assert lines == '"a,b","c""d",plain\r\n'


def test_exact_csv_keeps_numbers_and_times_as_they_are():
    at = datetime(2031, 6, 10, 9, 5, tzinfo=UTC)
    row = ["=1+2", -3, 0.1 + 0.2, at, at.date(), None]

    text = "".join(csv_parts(["x"], [row], timezone(timedelta(hours=1))))

    assert text == "x\r\n=1+2,-3,0.30000000000000004,2031-06-10T10:05:00+01:00,2031-06-10,\r\n"


def test_a_spreadsheet_never_meets_a_formula():
    # OWASP, CSV Injection: =1+2";=1+2 becomes "'=1+2"";=1+2"
    rows = [['=1+2";=1+2'], ["@x"], ["+x"], ["-x"], ["\tx"], ["\rx"], [-5], ["a=b"]]

    text = "".join(csv_parts(["x"], rows, UTC, for_spreadsheet=True))

    lines = text.split("\r\n")
    assert lines[0] == "\ufeffx"
    assert lines[1] == '"\'=1+2"";=1+2"'
    assert lines[2:] == ["'@x", "'+x", "'-x", "'\tx", '"\'\rx"', "-5", "a=b", ""]


def test_numbers_are_written_in_runs():
    assert in_runs([12, 3, 8, 7, 9, 7]) == "3, 7–9, 12"
    assert in_runs([]) == ""


def test_what_no_font_holds_is_printed_as_its_number():
    assert printable({"a": ["jar ☃ – σ 漢"]}) == {"a": ["jar [U+2603] – σ [U+6F22]"]}


@pytest.mark.parametrize("name", REGISTERS)
def test_each_register_opens_sorts_and_goes_out(
    season, client, name, django_assert_max_num_queries
):
    day = make_day(season)
    for minute in range(3):
        start = datetime(2031, 6, 10, 9 + minute, 0, tzinfo=UTC)
        make_dive(day, left_surface_at=start, reached_surface_at=start + timedelta(minutes=30))
    make_photograph(season, subject="Jar by the pump well")
    client_of(client, season, Role.CREW)
    url = reverse("register", args=[season.code, name])
    viewer, selected = Viewer(season, Role.CREW), REGISTERS[name].selected

    for column in filter(lambda one: one.order, REGISTERS[name].columns_for(viewer)):
        rows = list(selected(viewer, narrowed={}, order=column.key))
        assert set(rows) == set(selected(viewer, narrowed={}, order=f"-{column.key}"))
    with django_assert_max_num_queries(25):
        assert client.get(url, {"order": f"-{column.key}"}).status_code == 200
    exact = client.get(reverse("register_file", args=[season.code, name, "archive"]))
    rows = list(csv.reader(io.StringIO(text(exact))))
    assert rows[0][0] == REGISTERS[name].columns[0].key
    assert len(rows) - 1 == REGISTERS[name].rows(viewer).count()


def test_a_register_is_searched_narrowed_and_ordered(season, client):
    make_photograph(season, subject="Große Kanne", kind="detail")
    make_photograph(season, subject="Pulley", kind="slate")
    client_of(client, season, Role.READER)
    url = reverse("register", args=[season.code, "photographs"])

    found = client.get(url, {"q": "GROSSE kanne"}).content.decode()
    assert "Große Kanne" in found
    assert "Pulley" not in found
    found = client.get(url, {"kind": "slate"}).content.decode()
    assert "Pulley" in found
    assert "Kanne" not in found
    found = client.get(url, {"order": "-subject"}).content.decode()
    assert found.index("Pulley") < found.index("Große Kanne")
    assert client.get(url, {"kind": "no such", "order": "void"}).status_code == 200


def test_readers_see_no_people_and_no_places(season, client):
    make_day(season, place="Hollow Bank", diary="Everybody seasick", incidents="A cut hand")
    client_of(client, season, Role.READER)
    for name in REGISTERS:
        page = client.get(reverse("register", args=[season.code, name]), {"q": "seasick"})
        out = client.get(reverse("register_file", args=[season.code, name, "archive"]))
        for words in ("Hollow Bank", "seasick</", "A cut hand"):
            assert words not in page.content.decode()
        assert "seasick" not in text(out)


def test_the_queries_of_the_cross_index_do_not_grow(season, client, django_assert_max_num_queries):
    grid, stage = make_grid(season.site), make_stage(season)
    squares = [make_square(grid, column) for column in range(12)]
    for square in squares:
        make_goal(stage, square)
    card = make_card(make_run(season, stage=stage, grid=grid))
    make_frame(card, 1)
    client_of(client, season, Role.READER)
    url = reverse("cross_index", args=[season.code])

    with django_assert_max_num_queries(40):
        page = client.get(url).content.decode()

    assert page.count("<tr>") == 13
    exact = client.get(reverse("cross_index_file", args=[season.code, "archive"]))
    rows = list(csv.DictReader(io.StringIO(text(exact))))
    assert rows[0]["square"] == "A1"
    assert rows[0]["photos"] == "1"
    assert rows[5]["photos"] == ""


def test_the_index_is_printed_for_the_one_who_asked(season, client):
    make_dive(make_day(season))
    client_of(client, season, Role.CREW)
    client.post(reverse("index_print", args=[season.code]))
    job = Job.objects.get(kind="print_index")
    perform(_claim(str(job.pk)))

    job.refresh_from_db()
    assert job.state == JobState.DONE, job.message
    pdf = client.get(reverse("index_pdf", args=[season.code, job.pk]))
    content = b"".join(pdf.streaming_content)
    assert content.startswith(b"%PDF")
    client_of(client, season, Role.DIRECTOR)
    assert client.get(reverse("index_pdf", args=[season.code, job.pk])).status_code == 404


def test_the_numbers_go_out_as_a_file_too(season, client):
    make_dive(make_day(season))
    client_of(client, season, Role.READER)

    exact = client.get(reverse("numbers_file", args=[season.code, "archive"]))

    assert list(csv.DictReader(io.StringIO(text(exact)))) == [
        {"kind": "dive", "first": "1", "last": "1", "count": "1", "fate": "in use", "why": ""}
    ]
    assert client.get(reverse("numbers_file", args=[season.code, "other"])).status_code == 404


def test_the_page_of_a_print_under_way_is_drawn_anew_when_it_ends(season, client):
    client_of(client, season, Role.CREW)
    client.post(reverse("index_print", args=[season.code]))
    page = client.get(reverse("archive_index", args=[season.code])).content.decode()
    assert 'hx-trigger="job-over from:body"' in page

    job = Job.objects.get(kind="print_index")
    job.state, job.message = JobState.FAILED, "The disk is full."
    job.save()
    page = client.get(reverse("archive_index", args=[season.code])).content.decode()
    assert "The disk is full." in page
    assert "Start it again" in page


def test_the_counts_agree_with_plain_sql(season, client):
    day = make_day(season)
    for hour in range(4):
        start = datetime(2031, 6, 10, 6 + hour, 0, tzinfo=UTC)
        make_dive(day, left_surface_at=start, reached_surface_at=start + timedelta(minutes=30))
    other = make_season()
    make_dive(make_day(other))
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT count(*) FROM records_dive d JOIN records_season s ON s.id = d.season_id "
            "WHERE s.code = %s",
            [season.code],
        )
        (counted,) = cursor.fetchone()

    out = client_of(client, season, Role.LEAD).get(
        reverse("register_file", args=[season.code, "dives", "archive"])
    )

    assert len(text(out).strip().split("\r\n")) - 1 == counted == 4


def test_no_column_of_the_printed_index_is_narrower_than_its_words():
    roomy = ["HL26-drawing-1", "yes", "A long remark that breaks into lines as it must"]
    crowded = [*["earthenware", "x"] * 12, *["a long remark that breaks into many lines"] * 4]
    for row, is_shrunk in ((roomy, False), (crowded, True)):
        widths, size = column_widths(["Head"] * len(row), [row])
        assert sum(map(float, widths)) == pytest.approx(LETTERS_A_LINE / size, rel=0.01)
        assert (size < 1) == is_shrunk
        for cell, width in zip(row, map(float, widths), strict=True):
            assert width > max(map(len, ["Head", *cell.replace("-d", "- d").split()]))
