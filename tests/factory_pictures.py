"""Rows of pictures, set-ups, runs and frames for tests; see factory.py."""

from itertools import count
from typing import Any
from uuid import uuid4

from django.db import transaction

from records.models import (
    Card,
    Dive,
    Drawing,
    DrawingCheck,
    DrawnSquare,
    Frame,
    NumberKind,
    PagedFile,
    Photograph,
    PhotoKind,
    PhotoRun,
    Picture,
    PlacedBy,
    Placement,
    Season,
    Site,
    Square,
    Stage,
    StoredFile,
    TowerSetUp,
    Verdict,
)
from records.verbs.coverage import frame_lies_on, recount_squares
from records.verbs.numbers import take_numbers
from records.verbs.placing import placed_by_station
from records.verbs.tower import RowEntry, RunEntry, SetUpEntry, make_set_up, plan_run
from tests.factory import make_day, make_dive, make_grid, make_stage

_serial = count(1)


def make_stored_file(**fields: Any) -> StoredFile:
    return StoredFile.objects.create(
        **{
            "sha256": f"{next(_serial):064x}",
            "size_bytes": 1000,
            "media_type": "image/jpeg",
            "width_px": 1500,
            "height_px": 1000,
        }
        | fields
    )


def make_paged_file(season: Season, **fields: Any) -> PagedFile:
    """A PDF of two pages, none of them taken out."""
    pdf = {"media_type": "application/pdf", "width_px": None, "height_px": None}
    defaults = {"file": make_stored_file(**pdf), "original_name": "pile.pdf", "pages": 2}
    return PagedFile.objects.create(season=season, **defaults | fields)


def make_picture(site: Site, **fields: Any) -> Picture:
    return Picture.objects.create(
        **{
            "site": site,
            "file": fields.pop("file", None) or make_stored_file(),
            "original_name": f"P{next(_serial):04d}.JPG",
        }
        | fields
    )


def make_photograph(season: Season, **fields: Any) -> Photograph:

    picture = fields.pop("picture", None) or make_picture(season.site)
    with transaction.atomic():
        (n,) = take_numbers(season, NumberKind.PHOTO, 1)
    return Photograph.objects.create(
        **{"season": season, "n": n, "picture": picture, "kind": PhotoKind.RECORD_SHOT} | fields
    )


def set_up_entry(**fields: Any) -> SetUpEntry:
    return SetUpEntry(
        **{
            "name": "Tower, 24 mm",
            "camera": "Pelagia 24",
            "height_m": 1.4,
            "picture_width_px": 1500,
            "picture_height_px": 1000,
            "footprint_x_m": 1.5,
            "footprint_y_m": 1.0,
        }
        | fields
    )


def make_tower_set_up(season: Season, **fields: Any) -> TowerSetUp:
    """Through its verb, since its placement belongs to it; a lead must be acting."""
    return make_set_up(season, set_up_entry(**fields), uuid4())


def make_run(season: Season, *rows: RowEntry, **fields: Any) -> PhotoRun:
    """One row of three stations, a metre apart, unless told; a lead must be acting."""
    entry = {
        "name": f"run {next(_serial)}",
        "stage": fields.pop("stage", None) or make_stage(season),
        "grid": fields.pop("grid", None) or make_grid(season.site),
        "set_up": fields.pop("set_up", None) or make_tower_set_up(season),
        "rows": rows or (RowEntry(0.5, 0.5, 0.0, 1.0, 3),),
    }
    return plan_run(season, RunEntry(**entry | fields), uuid4())


def run_entry_of(run: PhotoRun, *rows: RowEntry, **fields: Any) -> RunEntry:
    """The run as it stands, with other rows."""
    said = {name: getattr(run, name) for name in ("name", "stage", "grid", "set_up", "note")}
    return RunEntry(rows=rows, **said | fields)


def make_card(run: PhotoRun, dive: Dive | None = None, **fields: Any) -> Card:
    dive = dive or make_dive(make_day(run.season, vessel=f"Gannet {next(_serial)}"))
    return Card.objects.create(run=run, dive=dive, **fields)


def make_frame(card: Card, station: int, row: int = 1, **fields: Any) -> Frame:
    """An accepted frame on its station, counted in the coverage."""
    run = card.run
    photograph = make_photograph(run.season, kind=PhotoKind.FRAME, dive=card.dive, stage=run.stage)
    stands_on = run.rows.get(order=row)
    frame = Frame.objects.create(
        **{
            "photograph": photograph,
            "card": card,
            "row": stands_on,
            "station": station,
            "placement": placed_by_station(photograph.picture, stands_on, station),
        }
        | fields
    )
    recount_squares(run.stage, frame_lies_on(frame))
    return frame


def make_drawn(square: Square, stage: Stage, *verdicts: str, **fields: Any) -> DrawnSquare:
    """A drawing of one square, checked with these verdicts one after another."""
    season, picture = stage.season, make_picture(stage.season.site)
    with transaction.atomic():
        (n,) = take_numbers(season, NumberKind.DRAWING, 1)
    placement = Placement.objects.create(
        picture=picture,
        grid=square.grid,
        h=[0.001, 0, 0, 0, -0.001, 1, 0, 0, 1],
        width_px=1000,
        height_px=1000,
        method=PlacedBy.MARKS,
    )
    drawing = Drawing.objects.create(season=season, n=n, picture=picture)
    said = {"extent": "whole"} | fields
    drawn = DrawnSquare.objects.create(
        drawing=drawing, square=square, stage=stage, placement=placement, **said
    )
    for verdict in verdicts:
        DrawingCheck.objects.create(
            drawn_square=drawn,
            verdict=verdict,
            why="no_levels" if verdict == Verdict.REDO else "",
        )
    return drawn
