"""Drawings: a sheet comes in and gets its number; the squares on it are placed one by one.

Field drawings are frozen with the fieldwork; what is inked from them stays open until the
archive is deposited.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _

from records.models import (
    Dive,
    Diver,
    Drawing,
    DrawingKind,
    DrawnSquare,
    FrameLies,
    NumberKind,
    Photograph,
    Picture,
    Season,
)
from records.permissions import May
from records.refusals import Conflict, Refused
from records.verbs.blocks import use_number
from records.verbs.extents import ExtentEntry, mend_extents
from records.verbs.guard import (
    UNTIL_DEPOSITED,
    UNTIL_FIELDWORK_CLOSED,
    as_made_before,
    current,
    demand_open,
    demand_standing,
    save_in_words,
    verb,
    void,
)
from records.verbs.numbers import take_numbers


@dataclass(frozen=True)
class DrawingEntry:
    """What a person says of a sheet. `squares_on_sheet`: labels as named, "K7, L7".

    `frame_lies`: empty where nobody has said.
    """

    kind: str = DrawingKind.PLAN
    scale: int = 10
    frame_lies: str = FrameLies.LEVEL
    dive: Dive | None = None
    drawn_by: Diver | None = None
    squares_on_sheet: str = ""
    note: str = ""
    inked_from: Drawing | None = None


@verb(May.RECORD, UNTIL_DEPOSITED)
def bring_in_drawing(
    season: Season, picture: Picture, entry: DrawingEntry, id: UUID, *, number: int | None = None
) -> Drawing:
    """A sheet whose picture is in the record already (`intake.pictures.bring_in_picture`).

    `number` is one that was written on the sheet ahead, from a block; else the next one.
    """
    said = _said(entry)
    if (known := as_made_before(Drawing, id, picture=picture, **said)) is not None:
        return known
    demand_open_for(season, entry.inked_from)
    _demand_a_sheet(season, picture)
    _demand_fitting(season, entry)
    n = use_number(season, NumberKind.DRAWING, number) if number is not None else _next(season)
    return save_in_words(Drawing(id=id, season=season, n=n, picture=picture, **said))


@verb(May.RECORD, UNTIL_DEPOSITED)
def edit_drawing(
    drawing: Drawing,
    entry: DrawingEntry,
    seen_version: int | None,
    extents: Sequence[ExtentEntry] = (),
) -> Drawing:
    """Mend what is said of a sheet, and how much it shows of squares that wait for their check;
    its number, its picture and its squares stay."""
    row = standing_drawing(drawing, seen_version)
    demand_open_for(row.season, entry.inked_from)
    _demand_fitting(row.season, entry, row)
    for name, value in _said(entry).items():
        setattr(row, name, value)
    mend_extents(save_in_words(row), extents)
    return row


@verb(May.LEAD, UNTIL_DEPOSITED)
def void_drawing(drawing: Drawing, reason: str) -> Drawing:
    """The drawing with its squares; the number stays, and the sheet may be brought in again."""
    row = standing_drawing(drawing)
    void(row, reason)
    squares = DrawnSquare.objects.standing().filter(drawing=row)
    for square in squares.select_for_update().order_by("pk"):
        void(square, reason)
    return row


def standing_drawing(drawing: Drawing, seen_version: int | None = None) -> Drawing:
    """The row, locked, if it may be written on; part of a guarded verb."""
    row = current(Drawing, drawing.pk, seen_version)
    demand_standing(row)
    demand_open_for(row.season, row.inked_from)
    return row


def demand_open_for(season: Season, inked_from: Drawing | None) -> None:
    """Field drawings close with the fieldwork, inked ones with the archive."""
    demand_open(season, UNTIL_DEPOSITED if inked_from else UNTIL_FIELDWORK_CLOSED)


def _said(entry: DrawingEntry) -> dict[str, Any]:
    words = {"note": entry.note.strip(), "squares_on_sheet": entry.squares_on_sheet.strip()}
    return {name: getattr(entry, name) for name in entry.__dataclass_fields__} | words


def _next(season: Season) -> int:
    return take_numbers(season, NumberKind.DRAWING, 1)[0]


def _demand_a_sheet(season: Season, picture: Picture) -> None:
    if picture.site_id != season.site_id:
        raise ValueError(f"picture {picture.pk!r} is of another site than season {season.code!r}")
    demand_standing(picture)
    if not picture.file.is_shown:
        raise Refused(_("A raw file or a video is no drawing. Choose a picture."), field="file")
    there = Drawing.objects.standing().filter(picture=picture).first()
    if there is not None:
        raise Conflict(
            _("This sheet is in the record already: it is %(drawing)s.") % {"drawing": there},
            field="file",
        )
    photograph = Photograph.objects.standing().filter(picture=picture).first()
    if photograph is not None:
        raise Conflict(
            _("This picture is in the record as a photograph: it is %(photograph)s.")
            % {"photograph": photograph},
            field="file",
        )


def _demand_fitting(season: Season, entry: DrawingEntry, drawing: Drawing | None = None) -> None:
    """Dive, diver and field drawing stand, and belong to the drawing's season and site."""
    dive, diver, field_drawing = entry.dive, entry.drawn_by, entry.inked_from
    if dive is not None and (dive.season_id != season.pk or dive.is_voided):
        raise Refused(_("This dive is void or of another season. Choose another."), field="dive")
    if diver is not None and diver.site_id != season.site_id:
        raise Refused(_("This diver belongs to another site."), field="drawn_by")
    if field_drawing is None:
        if drawing is not None and drawing.inked_from is not None:
            raise Refused(_("An inked drawing stays one: name its field drawing."), field="inked")
        return
    if field_drawing.season.site_id != season.site_id or field_drawing.is_voided:
        raise Refused(_("This field drawing is void or of another site."), field="inked")
    if field_drawing.inked_from_id is not None or field_drawing == drawing:
        raise Refused(_("That is no field drawing: name the one it was inked from."), field="inked")
