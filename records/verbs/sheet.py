"""Moves on a card's contact sheet. Each keeps what stood before, so that it can be undone."""

from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from records.intake.arrangement import Arrangement, arrangement
from records.intake.matching import laid_from
from records.models import Card, CardStep, IncomingFrame
from records.permissions import May
from records.refusals import Conflict, Refused, in_words
from records.verbs.cards import arriving
from records.verbs.guard import UNTIL_FIELDWORK_CLOSED, verb, void
from records.verbs.many import save_many
from survey.errors import Unfit
from survey.stations import Laid, moved_back, moved_on, put_in, stood_on, taken_out

STANDS = ("row", "station", "left_out_reason")


@verb(May.RECORD, UNTIL_FIELDWORK_CLOSED)
def move_on(card: Card, frame_id: UUID, *, seen: str | None = None) -> CardStep:
    """This frame and all after it stand one station on; its station stays empty."""
    now = _as_seen(card, seen)
    place = _place(now, frame_id)
    words = _("All from %(name)s one station on") % {"name": _name(now, frame_id)}
    return _stand(now, moved_on(now.laid, place), words)


@verb(May.RECORD, UNTIL_FIELDWORK_CLOSED)
def move_back(card: Card, frame_id: UUID, *, seen: str | None = None) -> CardStep:
    """This frame and all after it stand one station back."""
    now = _as_seen(card, seen)
    moved = moved_back(now.laid, _place(now, frame_id))
    if isinstance(moved, Unfit):
        raise Refused(in_words(moved))
    words = _("All from %(name)s one station back") % {"name": _name(now, frame_id)}
    return _stand(now, moved, words)


@verb(May.RECORD, UNTIL_FIELDWORK_CLOSED)
def stand_on(card: Card, frame_id: UUID, place: int, *, seen: str | None = None) -> CardStep:
    """One frame onto a station (counted from 0 over the run); one that stands there swaps."""
    now = _as_seen(card, seen)
    _laid_frame(now, frame_id)
    if not 0 <= place < now.laid.stations:
        raise Refused(_("The run has no such station."))
    words = _("%(name)s put on another station") % {"name": _name(now, frame_id)}
    return _stand(now, stood_on(now.laid, str(frame_id), place), words)


@verb(May.RECORD, UNTIL_FIELDWORK_CLOSED)
def leave_out(
    card: Card, frame_id: UUID, reason: str, *, close_up: bool = False, seen: str | None = None
) -> CardStep:
    """Kept as a photograph, but not used. With `close_up` all after it move one station back."""
    now = _as_seen(card, seen)
    frame = _laid_frame(now, frame_id)
    if not reason.strip():
        raise Refused(_("Say why this frame is left out."), field="reason")
    after = taken_out(now.laid, str(frame.pk), close_up=close_up)
    words = _("%(name)s left out: %(reason)s") % {
        "name": frame.original_name,
        "reason": reason.strip(),
    }
    return _stand(now, after, words, reasons={frame.pk: reason.strip()})


@verb(May.RECORD, UNTIL_FIELDWORK_CLOSED)
def leave_out_told(card: Card, *, seen: str | None = None) -> CardStep:
    """All frames that stand on no station for a known reason are left out, each for its own."""
    now = _as_seen(card, seen)
    reasons = {frame.pk: why for frame in now.frames if (why := now.why_spare(frame))}
    if not reasons:
        raise Conflict(_("No frame stands on no station for a known reason. Look again."))
    after = now.laid
    for key in reasons:
        after = taken_out(after, str(key))
    words = ngettext("%(n)d frame left out", "%(n)d frames left out", len(reasons))
    return _stand(now, after, words % {"n": len(reasons)}, reasons=reasons)


@verb(May.RECORD, UNTIL_FIELDWORK_CLOSED)
def put_back(card: Card, frame_id: UUID, *, seen: str | None = None) -> CardStep:
    """A frame that was left out is used again, where it stood if that station is still empty."""
    now = _as_seen(card, seen)
    frame = now.frame(frame_id)
    if frame is None or not frame.left_out_reason:
        raise Conflict(_("This frame is not left out. Look at the sheet again."))
    was_at = now.place_of(frame)
    after = put_in(now.laid, str(frame.pk), was_at)
    words = _("%(name)s put back") % {"name": frame.original_name}
    return _stand(now, after, words, reasons={frame.pk: ""})


@verb(May.RECORD, UNTIL_FIELDWORK_CLOSED)
def lay_from(card: Card, place: int, *, seen: str | None = None) -> CardStep:
    """All frames in order of time again, the first on this station (counted from 0)."""
    now = _as_seen(card, seen)
    if not 0 <= place < now.laid.stations:
        raise Refused(_("The run has no such station."))
    laying = {*now.laid.on, *now.laid.spare}
    frames = [frame for frame in now.frames if str(frame.pk) in laying]
    words = _("Laid again in order of time")
    return _stand(now, laid_from(now.card.run, frames, place), words)


@verb(May.RECORD, UNTIL_FIELDWORK_CLOSED)
def undo(card: Card, *, seen: str | None = None) -> CardStep:
    """Take the last move back."""
    now = _as_seen(card, seen)
    step = now.last_step
    if step is None:
        raise Conflict(_("There is no move to undo."))
    rows = {row.order: row for row in now.card.run.rows.all()}
    back = [frame for frame in now.frames if str(frame.pk) in step.before]
    for frame in back:
        order, station, reason = step.before[str(frame.pk)]
        frame.row, frame.station, frame.left_out_reason = rows.get(order), station, reason
    save_many(back, *STANDS)
    void(step, _("undone"))
    return step


def propose_again(card: Card, why: str) -> None:
    """Forget all moves, since the stations themselves changed; part of a guarded verb."""
    now = arrangement(card)
    laid = [frame for frame in now.frames if frame.row_id is not None]
    for frame in laid:
        frame.row = frame.station = None
    save_many(laid, *STANDS)
    for step in card.steps.standing():
        void(step, why)


def _as_seen(card: Card, seen: str | None) -> Arrangement:
    now = arrangement(arriving(card))
    if seen is not None and seen != now.seen:
        raise Conflict(
            _(
                "The sheet changed since you looked: a frame came in, or somebody moved one. "
                "Nothing was moved. Look at it again."
            )
        )
    return now


def _laid_frame(now: Arrangement, frame_id: UUID) -> IncomingFrame:
    frame = now.frame(frame_id)
    if frame is None or str(frame_id) not in {*now.laid.on, *now.laid.spare}:
        raise Conflict(_("This frame is not among those to be laid. Look at the sheet again."))
    return frame


def _place(now: Arrangement, frame_id: UUID) -> int:
    _laid_frame(now, frame_id)
    place = now.laid.on.get(str(frame_id))
    if place is None:
        raise Refused(_("This frame stands on no station yet. Put it on one first."))
    return place


def _name(now: Arrangement, frame_id: UUID) -> str:
    frame = now.frame(frame_id)
    return frame.original_name if frame else ""


def _stand(
    now: Arrangement, after: Laid, words: str, *, reasons: dict[UUID, str] | None = None
) -> CardStep:
    """Write where frames stand now, and keep where they stood."""
    before: dict[str, list[Any]] = {}
    changed: list[IncomingFrame] = []
    for frame in now.frames:
        reason = (reasons or {}).get(frame.pk, frame.left_out_reason)
        row, station = _stands(now, frame, after, reason)
        was = (frame.row_id, frame.station, frame.left_out_reason)
        if was == (row.pk if row else None, station, reason):
            continue
        before[str(frame.pk)] = [frame.row.order if frame.row else None, *was[1:]]
        frame.row, frame.station, frame.left_out_reason = row, station, reason
        changed.append(frame)
    save_many(changed, *STANDS)
    step = CardStep(card=now.card, words=words[:200], before=before)
    step.save()
    return step


def _stands(now: Arrangement, frame: IncomingFrame, after: Laid, reason: str) -> tuple[Any, Any]:
    """One that is left out remembers the station it was taken at."""
    place = now.place_of(frame) if reason else after.on.get(str(frame.pk))
    return (None, None) if place is None else now.card.run.stations[place]
