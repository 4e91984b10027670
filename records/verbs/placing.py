"""Placements: immutable rows; a new one replaces, and coverage follows in the transaction."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from records.models import Frame, Grid, Mark, PhotoRun, Picture, PlacedBy, Placement, RunRow
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
    size = picture.upright_size_px
    if size is None:
        raise Refused(_("A video or raw file cannot be placed on the grid."))
    fitted = place_by_marks(
        [(one.u_px, one.v_px) for one in marks], [(one.x_m, one.y_m) for one in marks], *size
    )
    if isinstance(fitted, Unfit):
        raise Refused(in_words(fitted), field="marks")
    row = _kept(picture, grid, fitted, size)
    for entry in marks:
        Mark.objects.create(placement=row, **vars(entry))
    return row


def _kept(
    picture: Picture, grid: Grid, fitted: MarkedPlacement, size: tuple[int, int]
) -> Placement:
    return Placement.objects.create(
        picture=picture,
        grid=grid,
        h=list(fitted.placement.h),
        width_px=size[0],
        height_px=size[1],
        method=PlacedBy.MARKS,
        degrees_of_freedom=fitted.degrees_of_freedom,
        rms_px=fitted.rms_px,
        rms_mm=None if fitted.rms_m is None else fitted.rms_m * 1000,
    )


def placed_by_station(
    picture: Picture, row: RunRow, station: int, foot_m: tuple[float, float] = (0.0, 0.0)
) -> Placement:
    """The set-up's placement under the pose of a station (counted from 1); part of a verb."""
    placement = _by_station(row.run, row.run.set_up.placement, picture, row, station, foot_m)
    placement.save()
    return placement


def placements_by_station(
    run: PhotoRun, frames: Sequence[tuple[Picture, RunRow, int]]
) -> list[Placement]:
    """As `placed_by_station` for all frames of a card at once; part of a verb."""
    set_up = run.set_up.placement
    placements = [_by_station(run, set_up, *frame, (0.0, 0.0)) for frame in frames]
    make_many(placements)
    return placements


def _by_station(
    run: PhotoRun,
    set_up: Placement,
    picture: Picture,
    row: RunRow,
    station: int,
    foot_m: tuple[float, float],
) -> Placement:
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
