"""Placements: immutable rows; a new one replaces, and coverage follows in the transaction."""

import datetime
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from records.models import (
    Card,
    Frame,
    Grid,
    Mark,
    PhotoRun,
    Picture,
    PlacedBy,
    Placement,
    RunRow,
    version_at,
)
from records.permissions import May
from records.refusals import Refused, in_words
from records.verbs.coverage import frame_lies_on, recount_squares
from records.verbs.guard import UNTIL_FIELDWORK_CLOSED, current, verb
from records.verbs.many import make_many
from survey import placement as placing
from survey.errors import Unfit
from survey.marks import MarkedPlacement, place_by_marks


@dataclass(frozen=True)
class MarkEntry:
    """A point seen at (u, v) px of the upright picture whose place on the grid is (x, y) m."""

    u_px: float
    v_px: float
    x_m: float
    y_m: float
    label: str = ""


def placed_by_marks(picture: Picture, grid: Grid, marks: Sequence[MarkEntry]) -> Placement:
    """A new placement of the picture on the grid; part of a guarded verb."""
    return kept_by_marks(picture, marks, grid=grid)


def kept_by_marks(picture: Picture, marks: Sequence[MarkEntry], **onto: Any) -> Placement:
    """A new placement with its marks, `onto` a grid or a set-up; part of a guarded verb."""
    size = picture.upright_size_px
    if size is None:
        raise Refused(_("A video or raw file cannot be placed on the grid."))
    fitted = place_by_marks(
        [(one.u_px, one.v_px) for one in marks], [(one.x_m, one.y_m) for one in marks], *size
    )
    if isinstance(fitted, Unfit):
        raise Refused(in_words(fitted), field="marks")
    row = _kept(picture, fitted, size, onto)
    for entry in marks:
        Mark.objects.create(placement=row, **vars(entry))
    return row


def _kept(
    picture: Picture, fitted: MarkedPlacement, size: tuple[int, int], onto: dict[str, Any]
) -> Placement:
    return Placement.objects.create(
        picture=picture,
        h=list(fitted.placement.h),
        width_px=size[0],
        height_px=size[1],
        method=PlacedBy.MARKS,
        degrees_of_freedom=fitted.degrees_of_freedom,
        rms_px=fitted.rms_px,
        rms_mm=None if fitted.rms_m is None else fitted.rms_m * 1000,
        **onto,
    )


def placed_by_station(
    picture: Picture,
    row: RunRow,
    station: int,
    foot_m: tuple[float, float] = (0.0, 0.0),
    when: datetime.datetime | None = None,
) -> Placement:
    """The set-up's placement under the pose of a station (counted from 1); part of a verb.

    `when` the frame was taken says which version of the set-up.
    """
    set_up = version_at(row.run.set_up.versions(), when or picture.taken_at)
    placement = on_station(row.run, set_up, picture, row, station, foot_m)
    placement.save()
    return placement


def placements_by_station(
    card: Card, frames: Sequence[tuple[Picture, RunRow, int]]
) -> list[Placement]:
    """As `placed_by_station` for all frames of a card at once; part of a verb."""
    versions = card.run.set_up.versions()
    placements = [
        on_station(card.run, version_at(versions, _taken_at(card, frame[0])), *frame, (0.0, 0.0))
        for frame in frames
    ]
    make_many(placements)
    return placements


def _taken_at(card: Card, picture: Picture) -> datetime.datetime:
    """Before the card's times are corrected for its clock."""
    if picture.taken_at is None:
        return card.dive.left_surface_at
    return picture.taken_at - card.clock_offset


def on_station(
    run: PhotoRun,
    set_up: Placement,
    picture: Picture,
    row: RunRow,
    station: int,
    foot_m: tuple[float, float],
) -> Placement:
    """The placement that a frame takes from its station, not saved yet."""
    size = picture.upright_size_px
    if size is None:
        raise Refused(_("A video or raw file cannot be placed on the grid."))
    if size != (set_up.width_px, set_up.height_px):
        raise Refused(
            _("%(name)s has %(width)s × %(height)s px; the set-up has %(w)s × %(h)s px.")
            % {
                "name": picture.original_name,
                "width": size[0],
                "height": size[1],
                "w": set_up.width_px,
                "h": set_up.height_px,
            }
        )
    placed = placing.placement_on_grid(placing.Placement(set_up.h), row.pose_at(station, foot_m))
    return Placement(
        picture=picture,
        grid=run.grid,
        lens=set_up.lens,
        h=list(placed.h),
        width_px=size[0],
        height_px=size[1],
        method=PlacedBy.STATION,
    )


@verb(May.RECORD, UNTIL_FIELDWORK_CLOSED)
def place_frame_by_marks(frame: Frame, marks: Sequence[MarkEntry], seen_version: int) -> Frame:
    """Replace a frame's placement by one from four or more marks on the grid."""
    frame = current(Frame, frame.pk, seen_version)
    touched = {one.square for one in frame.on_squares.select_related("square")}
    grid = frame.card.run.grid
    frame.placement = placed_by_marks(frame.photograph.picture, grid, marks)
    frame.save()
    recount_squares(frame.card.run.stage, touched | frame_lies_on(frame))
    return frame
