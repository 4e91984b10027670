"""Registers, the index by square and a square's page with 2,000 squares and 20,000 photographs, as
a ratio to the hand-written SQL that brings the same numbers up in the same run."""

import sys
import time
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from records.acting import acting_as
from records.models import (
    Card,
    DiveTask,
    Frame,
    FrameOnSquare,
    Photograph,
    Picture,
    Placement,
    Role,
    Square,
    SquareGoal,
    StoredFile,
)
from tests.factory import make_day, make_dive, make_grid, make_member, make_season, make_stage
from tests.factory_pictures import make_run

pytestmark = [pytest.mark.slow, pytest.mark.django_db]

SQUARES, PHOTOGRAPHS = 2_000, 20_000


@pytest.fixture
def season():
    season = make_season()
    with acting_as(make_member(season.site, Role.LEAD).account):
        fill(season)
    return season


def fill(season) -> None:
    grid, stage = make_grid(season.site), make_stage(season)
    dive = make_dive(make_day(season))
    run = make_run(season, stage=stage, grid=grid)
    card = Card.objects.create(run=run, dive=dive)
    squares = [Square(grid=grid, column=i % 50, row=i // 50) for i in range(SQUARES)]
    Square.objects.bulk_create(squares)
    SquareGoal.objects.bulk_create([SquareGoal(stage=stage, square=one) for one in squares])
    DiveTask.objects.bulk_create(
        [
            DiveTask(dive=dive, stage=stage, square=one, method="photographs", outcome="done")
            for one in squares
        ]
    )
    _photographs(season, grid, card, squares)


def _photographs(season, grid, card, squares) -> None:
    of = range(PHOTOGRAPHS)
    files = [StoredFile(sha256=f"{i:064x}", size_bytes=1, media_type="image/jpeg") for i in of]
    pictures = [
        Picture(site=season.site, file=file, original_name=f"P{i}.JPG")
        for i, file in enumerate(files)
    ]
    photographs = [
        Photograph(season=season, n=i + 1, picture=one, kind="frame", dive=card.dive)
        for i, one in enumerate(pictures)
    ]
    h = [0.001, 0, 0, 0, -0.001, 0, 0, 0, 1]
    placements = [
        Placement(picture=one, grid=grid, h=h, width_px=2000, height_px=1333, method="station")
        for one in pictures
    ]
    frames = [
        Frame(photograph=photograph, card=card, placement=placement, id=uuid4())
        for photograph, placement in zip(photographs, placements, strict=True)
    ]
    on_squares = [
        FrameOnSquare(frame=frame, square=squares[i % SQUARES], fraction=1.0)
        for i, frame in enumerate(frames)
    ]
    for rows in (files, pictures, photographs, placements, frames, on_squares):
        type(rows[0]).objects.bulk_create(rows, batch_size=2000)


def timed(act) -> tuple[float, int]:
    with CaptureQueriesContext(
        connection,
    ) as queries:
        begun = time.perf_counter()
        act()
        return time.perf_counter() - begun, len(queries)


def by_hand(*queries: str):
    def act() -> None:
        with connection.cursor() as cursor:
            for query in queries:
                cursor.execute(query)
                cursor.fetchall()

    return act


FRAMES_BY_SQUARE = (
    "SELECT o.square_id, p.n FROM records_frameonsquare o "
    "JOIN records_frame f ON f.id = o.frame_id JOIN records_photograph p ON p.id = f.photograph_id"
)
FLOORS = {
    "a square's page": by_hand(
        "SELECT p.n, f.id FROM records_frameonsquare o "
        "JOIN records_frame f ON f.id = o.frame_id "
        "JOIN records_photograph p ON p.id = f.photograph_id "
        "WHERE o.square_id = (SELECT min(square_id) FROM records_frameonsquare)",
        'SELECT id, "column", "row" FROM records_square WHERE "column" < 2 AND "row" < 2',
        "SELECT d.n FROM records_divetask t JOIN records_dive d ON d.id = t.dive_id "
        "WHERE t.square_id = (SELECT min(square_id) FROM records_divetask)",
    ),
    "register photographs": by_hand(
        "SELECT p.*, k.original_name FROM records_photograph p "
        "JOIN records_picture k ON k.id = p.picture_id ORDER BY p.n LIMIT 100",
        "SELECT count(*) FROM records_photograph",
    ),
    "index by square": by_hand(
        FRAMES_BY_SQUARE,
        'SELECT id, "column", "row" FROM records_square',
        "SELECT square_id, stage_id FROM records_squaregoal",
        "SELECT t.square_id, d.n FROM records_divetask t JOIN records_dive d ON d.id = t.dive_id",
    ),
    "whole register as a file": by_hand(
        "SELECT p.n, p.kind, p.subject, k.original_name, k.taken_at FROM records_photograph p "
        "JOIN records_picture k ON k.id = p.picture_id ORDER BY p.n"
    ),
}


def test_the_large_season_opens_within_a_few_times_the_bare_query(season, client, capsys):
    client.force_login(
        make_member(season.site, Role.LEAD).account, backend="records.sign_in.PasswordBackend"
    )
    code = season.code
    grid = season.site.grids.get().code
    pages = {
        "a square's page": lambda: client.get(reverse("square", args=[code, grid, "A1"])),
        "register photographs": lambda: client.get(reverse("register", args=[code, "photographs"])),
        "index by square": lambda: client.get(reverse("cross_index", args=[code])),
        "whole register as a file": lambda: b"".join(
            client.get(
                reverse("register_file", args=[code, "photographs", "archive"])
            ).streaming_content
        ),
    }
    lines, ratios = [], {}
    for name, floor in FLOORS.items():
        floor()
        floor_s, _queries = timed(floor)
        page_s, queries = timed(pages[name])
        ratios[name] = page_s / floor_s
        lines.append(f"{name}: {page_s:.2f} s, {ratios[name]:.1f} × bare SQL, {queries} queries")
        assert queries <= 60, name
    with capsys.disabled():
        sys.stdout.write("\n" + "\n".join(lines) + "\n")
    assert ratios["index by square"] < 60
