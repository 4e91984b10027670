"""Placements: immutable rows; a new one replaces, and coverage follows in the transaction."""

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID, uuid4

from django.utils.translation import gettext as _

from records.acting import acting_account
from records.intake.seen import ask_to_compare
from records.models import (
    Card,
    Frame,
    Grid,
    Lens,
    Mark,
    Photograph,
    PhotoKind,
    PhotoRun,
    Picture,
    PlacedBy,
    Placement,
    RunRow,
    Square,
    Stage,
    version_at,
)
from records.permissions import May, demand
from records.refusals import Refused, Stale, in_words
from records.verbs.coverage import frame_lies_on, recount_squares
from records.verbs.guard import (
    UNTIL_FIELDWORK_CLOSED,
    current,
    demand_standing,
    made_before,
    verb,
)
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


def kept_by_marks(
    picture: Picture, marks: Sequence[MarkEntry], lens: Lens | None = None, **onto: Any
) -> Placement:
    """A new placement with its marks, `onto` a grid or a set-up; part of a guarded verb.

    Marks are kept as they were seen; the lens's distortion is taken off before they are fitted.
    """
    size = picture.upright_size_px
    if size is None:
        raise Refused(_("A video or raw file cannot be placed on the grid."))
    bent = None if lens is None else lens.as_value
    if bent is not None and (bent.width_px, bent.height_px) != size:
        raise Refused(_("This lens was found for pictures of another size. Choose another frame."))
    seen = [(one.u_px, one.v_px) for one in marks]
    fitted = place_by_marks(seen, [(one.x_m, one.y_m) for one in marks], *size, bent)
    if isinstance(fitted, Unfit):
        raise Refused(in_words(fitted), field="marks")
    row = _kept(picture, fitted, size, {"lens": lens} | onto)
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
    placed = placing.placement_on_grid(set_up.as_value, row.pose_at(station, foot_m))
    return Placement(
        picture=picture,
        grid=run.grid,
        lens_id=set_up.lens_id,
        h=list(placed.h),
        width_px=size[0],
        height_px=size[1],
        method=PlacedBy.STATION,
    )


@verb(May.RECORD, UNTIL_FIELDWORK_CLOSED)
def place_frame_by_marks(
    frame: Frame, marks: Sequence[MarkEntry], seen_version: int, id: UUID | None = None
) -> Frame:
    """Replace a tower frame's placement by one from four or more marks on its run's grid."""
    if id is not None and made_before(Placement, id) is not None:
        return frame
    frame = current(Frame, frame.pk, seen_version)
    demand_standing(frame.photograph)
    _use_again(frame)
    frame.placement = kept_by_marks(
        frame.photograph.picture,
        marks,
        version_at(frame.run.set_up.versions(), frame.taken_at).lens,
        grid=frame.run.grid,
        id=id or uuid4(),
    )
    _lay(frame, {frame.stage: _squares_under(frame)})
    ask_to_compare(frame.run)
    return frame


@dataclass(frozen=True)
class PointsEntry:
    """Where a photograph that is no tower frame lies, and in which stage it counts."""

    grid: Grid
    stage: Stage
    marks: Sequence[MarkEntry]


@verb(May.RECORD, UNTIL_FIELDWORK_CLOSED)
def place_photograph_by_marks(
    photograph: Photograph, entry: PointsEntry, id: UUID, seen_version: int = 0
) -> Frame:
    """It then counts in the coverage like a tower frame. `seen_version` of its frame, or 0.

    Placed before, it is placed anew; left out, a lead uses it again.
    """
    row = current(Photograph, photograph.pk, None)
    locked = Frame.objects.select_for_update().filter(photograph=row)
    frame: Frame | None = locked.order_by("pk").first()  # the usual order would join the rows
    if made_before(Placement, id) is not None and frame is not None:
        return frame
    if frame is not None and frame.version != seen_version:
        raise Stale(frame, seen_version)
    demand_standing(row)
    _demand_placeable(row, entry)
    former = {row.stage: _squares_under(frame)} if frame and row.stage else {}
    if row.stage != entry.stage:
        row.stage = entry.stage
        row.save()
    frame = frame or Frame(photograph=row)
    frame.photograph = row
    _use_again(frame)
    frame.placement = kept_by_marks(row.picture, entry.marks, grid=entry.grid, id=id)
    _lay(frame, former)
    return frame


def _demand_placeable(photograph: Photograph, entry: PointsEntry) -> None:
    season = photograph.season
    if photograph.kind == PhotoKind.FRAME:
        raise Refused(_("A tower frame lies on the grid of its run, in its run's stage."))
    if entry.grid.site_id != season.site_id or entry.grid.is_voided:
        raise Refused(_("Grid and photograph must belong to this site."), field="grid")
    if entry.stage.season_id != season.pk or entry.stage.is_voided:
        raise Refused(_("This stage belongs to another season."), field="stage")


def _use_again(frame: Frame) -> None:
    """What a lead left out is not brought back by others."""
    if not frame.is_kept:
        demand(acting_account(), frame.season.site, May.LEAD)
        frame.is_kept, frame.left_out_reason = True, ""


def _squares_under(frame: Frame) -> set[Square]:
    return {one.square for one in frame.on_squares.select_related("square__grid")}


def _lay(frame: Frame, former: Mapping[Stage, set[Square]]) -> None:
    """Save, and count what it covers now and what it covered, be it in another stage."""
    touched = {stage: set(squares) for stage, squares in former.items()}
    frame.save()
    touched.setdefault(frame.stage, set()).update(frame_lies_on(frame))
    for stage in sorted(touched, key=lambda one: str(one.pk)):
        recount_squares(stage, touched[stage])
