"""The demo's index against what plain SQL counts: an independent way to the same lines.

For test_demo, since the demo takes longer to load than to count."""

import csv
import io
from collections import defaultdict

from django.db import connection
from django.urls import reverse

from records.archive.cross_index import in_runs
from records.models import Account

LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"  # the demo's grids leave out I and O


def sql(query: str, *given) -> list[tuple]:
    with connection.cursor() as cursor:
        cursor.execute(query, given)
        return list(cursor.fetchall())


def lines(demo, url: str, *more: str) -> list[dict[str, str]]:
    client, code = demo
    answer = client.get(reverse(url, args=[code, *more]))
    return list(csv.DictReader(io.StringIO(b"".join(answer.streaming_content).decode())))


NUMBERED = {
    "dives": ("dive", "records_dive"),
    "drawings": ("drawing", "records_drawing"),
    "photographs": ("photo", "records_photograph"),
    "finds": ("find", "records_find"),
}
UNNUMBERED = {
    "comparisons": "records_comparison",
    "features": "records_outline",
    "sheets": "records_printedsheet",
    "scans": "records_scan",
}


def each_register_has_a_line_for_each_row_and_no_other(demo):
    for register, (kind, table) in NUMBERED.items():
        counted = sql(f"SELECT n FROM {table} ORDER BY n")
        written = lines(demo, "register_file", register, "archive")
        assert [line["number"] for line in written] == [f"{demo[1]}-{kind}-{n}" for (n,) in counted]
    for register, table in UNNUMBERED.items():
        ((count,),) = sql(f"SELECT count(*) FROM {table}")
        assert len(lines(demo, "register_file", register, "archive")) == count, register
    counted = sql("SELECT date FROM records_divingday ORDER BY date")
    written = lines(demo, "register_file", "days", "archive")
    assert [line["date"] for line in written] == [str(date) for (date,) in counted]


def held_by_sql() -> dict[tuple[str, str], dict[str, list]]:
    """By label and stage: the numbers of dives, drawings, photographs and finds."""
    squares = {
        square: f"{code} {LETTERS[LETTERS.index(first) + column]}{row + int(start)}"
        for square, code, first, start, column, row in sql(
            'SELECT s.id, g.code, g.first_column, g.first_row, s."column", s."row" '
            "FROM records_square s JOIN records_grid g ON g.id = s.grid_id"
        )
    }
    stages = dict(sql("SELECT id, name FROM records_stage"))
    held: dict = defaultdict(lambda: defaultdict(list))
    queries = {
        "dives": "SELECT t.square_id, t.stage_id, d.n FROM records_divetask t "
        "JOIN records_dive d ON d.id = t.dive_id WHERE t.square_id IS NOT NULL",
        "drawings": "SELECT q.square_id, q.stage_id, d.n FROM records_drawnsquare q "
        "JOIN records_drawing d ON d.id = q.drawing_id",
        "finds": "SELECT square_id, stage_id, n FROM records_find WHERE square_id IS NOT NULL",
        "photos": "SELECT o.square_id, r.stage_id, p.n FROM records_frameonsquare o "
        "JOIN records_frame f ON f.id = o.frame_id JOIN records_card c ON c.id = f.card_id "
        "JOIN records_photorun r ON r.id = c.run_id "
        "JOIN records_photograph p ON p.id = f.photograph_id WHERE f.is_kept "
        "UNION SELECT square_id, stage_id, n FROM records_photograph WHERE square_id IS NOT NULL",
    }
    for kind, query in queries.items():
        for square, stage, n in sql(query):
            held[squares[square], stages.get(stage, "")][kind].append(n)
    return held


def the_index_by_square_equals_the_count_by_sql_line_by_line(demo):
    held = held_by_sql()
    goals = sql("SELECT count(*) FROM records_squaregoal")[0][0]

    written = lines(demo, "cross_index_file", "archive")

    assert len(written) >= goals
    shown = {(line["square"], line["stage"]): line for line in written}
    assert set(held) <= set(shown)
    for surface, line in shown.items():
        for kind in ("dives", "photos", "finds"):
            assert line[kind] == in_runs(held[surface][kind]), (surface, kind)
        numbers = [part.split(" ")[0] for part in line["drawings"].split(", ") if part]
        assert numbers == [str(n) for n in sorted(held[surface]["drawings"])], surface


def each_number_is_accounted_for(demo):
    client, code = demo

    page = client.get(reverse("numbers", args=[code])).content.decode()

    assert "Every number is accounted for." in page
    given = dict(sql("SELECT kind, last FROM records_numbercounter"))
    for kind, table in (("dive", "records_dive"), ("photo", "records_photograph")):
        assert given.get(kind, 0) == (sql(f"SELECT max(n) FROM {table}")[0][0] or 0)


def the_index_is_what_plain_sql_counts(client) -> None:
    lead = Account.objects.get(sign_in_name="teodor")
    client.force_login(lead, backend="records.sign_in.PasswordBackend")
    ((code,),) = sql("SELECT code FROM records_season")
    demo = client, code

    each_register_has_a_line_for_each_row_and_no_other(demo)
    the_index_by_square_equals_the_count_by_sql_line_by_line(demo)
    each_number_is_accounted_for(demo)
