"""Accepted frames that turn out to be wrong: stood elsewhere, left out, used again."""

from django.utils.translation import gettext as _

from records.intake.seen import ask_to_compare
from records.models import Frame, RunRow
from records.permissions import May
from records.refusals import Conflict, Refused
from records.verbs.coverage import frame_lies_on, recount_squares
from records.verbs.guard import UNTIL_FIELDWORK_CLOSED, current, demand_standing, verb
from records.verbs.placing import placed_by_station


@verb(May.LEAD, UNTIL_FIELDWORK_CLOSED)
def stand_frame(
    frame: Frame,
    row: RunRow,
    station: int,
    foot_m: tuple[float, float] = (0.0, 0.0),
    *,
    seen_version: int | None = None,
) -> Frame:
    """Onto another station of its run, or a little off it; its number stays as it was given."""
    frame = _standing(frame, seen_version)
    _demand_station(frame, row, station)
    if not frame.is_kept:
        raise Refused(_("This frame is left out. Use it again first."))
    return _stood(frame, row, station, foot_m)


@verb(May.LEAD, UNTIL_FIELDWORK_CLOSED)
def leave_out_frame(frame: Frame, reason: str, *, seen_version: int | None = None) -> Frame:
    """It stays a photograph with its number, and covers nothing."""
    frame = _standing(frame, seen_version)
    if not frame.is_kept:
        raise Conflict(
            _("This frame is left out already: %(why)s") % {"why": frame.left_out_reason}
        )
    if not reason.strip():
        raise Refused(_("Say why this frame is left out."), field="reason")
    frame.is_kept, frame.left_out_reason, frame.placement = False, reason.strip(), None
    frame.trusted_reason = ""
    return _laid_anew(frame)


@verb(May.LEAD, UNTIL_FIELDWORK_CLOSED)
def use_frame(
    frame: Frame,
    row: RunRow,
    station: int,
    foot_m: tuple[float, float] = (0.0, 0.0),
    *,
    seen_version: int | None = None,
) -> Frame:
    """A frame that was left out covers its station after all."""
    frame = _standing(frame, seen_version)
    if frame.is_kept:
        raise Conflict(_("This frame is used already."))
    _demand_station(frame, row, station)
    frame.is_kept, frame.left_out_reason = True, ""
    return _stood(frame, row, station, foot_m)


@verb(May.LEAD, UNTIL_FIELDWORK_CLOSED)
def trust_frame(frame: Frame, reason: str, *, seen_version: int | None = None) -> Frame:
    """Use it, whatever its pixels say: a person looked at it. The verdict then counts it."""
    frame = _standing(frame, seen_version)
    if not frame.is_kept:
        raise Refused(_("This frame is left out. Use it again first."))
    if not reason.strip():
        raise Refused(_("Say why this frame is good enough."), field="reason")
    frame.trusted_reason = reason.strip()
    frame.save()
    return frame


def _standing(frame: Frame, seen_version: int | None) -> Frame:
    row = current(Frame, frame.pk, seen_version)
    demand_standing(row.photograph)
    return row


def _demand_station(frame: Frame, row: RunRow, station: int) -> None:
    if frame.card is None:
        raise Refused(_("This photograph was taken off the tower. Place it by known points."))
    if row.run_id != frame.card.run_id or station not in row.numbers:
        raise Refused(_("The run has no such station."), field="station")


def _stood(frame: Frame, row: RunRow, station: int, foot_m: tuple[float, float]) -> Frame:
    frame.row, frame.station = row, station
    frame.foot_x_m, frame.foot_y_m = foot_m
    frame.placement = placed_by_station(
        frame.photograph.picture, row, station, foot_m, when=frame.taken_at
    )
    return _laid_anew(frame)


def _laid_anew(frame: Frame) -> Frame:
    touched = {one.square for one in frame.on_squares.select_related("square__grid")}
    frame.save()
    recount_squares(frame.stage, touched | frame_lies_on(frame))
    if frame.run is not None:
        ask_to_compare(frame.run)
    return frame
