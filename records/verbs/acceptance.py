"""A card accepted: its frames become numbered photographs on their stations, all or none."""

from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from records.acting import acting_account
from records.intake.arrangement import Arrangement, arrangement
from records.intake.measures import measures_of
from records.intake.seen import ask_to_compare
from records.models import (
    Card,
    CardFileRole,
    CardState,
    Frame,
    IncomingFrame,
    NumberKind,
    Photograph,
    PhotoKind,
    Picture,
    RunRow,
)
from records.permissions import May
from records.queries.card_safety import not_arrived
from records.refusals import Conflict, Refused
from records.verbs.answers import NO_ANSWERS, kept_answers
from records.verbs.coverage import frames_lie_on, recount_squares
from records.verbs.guard import UNTIL_FIELDWORK_CLOSED, current, demand_standing, verb
from records.verbs.many import make_many, save_many
from records.verbs.numbers import take_numbers
from records.verbs.placing import placements_by_station


@verb(May.RECORD, UNTIL_FIELDWORK_CLOSED)
def accept_card(
    card: Card, *, seen: str | None = None, answers: Mapping[str, str] = NO_ANSWERS
) -> Card:
    """Numbers in the order of the stations; frames left out are photographs too, not used.

    The same person's second tap is answered like the first; another person is told.
    """
    card = current(Card, card.pk, None)
    demand_standing(card)
    if card.state == CardState.ACCEPTED:
        return _accepted_before(card)
    now = arrangement(card)
    _demand_as_seen(now, seen)
    _demand_ready(now)
    kept_answers(_questions(now), answers, {})
    frames = _in_station_order(now)
    _number(now, frames)
    _pair_raw_files(now)
    card.state = CardState.ACCEPTED
    card.save()
    ask_to_compare(card.run)
    return card


def accepted_by(card: Card) -> Any:
    """The history row of the acceptance: who, and when."""
    rows: Any = card.history
    return rows.filter(state=CardState.ACCEPTED).select_related("history_user").earliest()


def _accepted_before(card: Card) -> Card:
    by = accepted_by(card)
    if by.history_user == acting_account():
        return card
    raise Conflict(
        _(
            "%(who)s accepted this card at %(when)s. Nothing was changed now; its photographs "
            "have their numbers."
        )
        % {"who": by.history_user, "when": f"{card.season.local(by.history_date):%H:%M}"}
    )


def _demand_as_seen(now: Arrangement, seen: str | None) -> None:
    if seen is not None and seen != now.seen:
        raise Conflict(
            _(
                "The sheet changed since you looked: a frame came in, or somebody moved one. "
                "Nothing was accepted. Look at it again, then accept."
            )
        )


def _demand_ready(now: Arrangement) -> None:
    if not now.frames and not now.others:
        raise Refused(_("No file of this card has come in yet."))
    spare = [frame.original_name for frame in now.frames if str(frame.pk) in now.laid.spare]
    if spare:
        raise Refused(
            ngettext(
                "%(names)s stands on no station. Put it on one, or leave it out with a reason.",
                "%(names)s stand on no station. Put each on one, or leave it out with a reason.",
                len(spare),
            )
            % {"names": _listed(spare)}
        )
    odd = [frame.original_name for frame in now.frames if frame.pk in now.odd_sizes]
    if odd:
        base = now.set_up_size
        raise Refused(
            _(
                "%(names)s: not %(width)s × %(height)s px, the size of the run's set-up. Leave "
                "them out with a reason, or give the run the set-up that took them."
            )
            % {"names": _listed(odd), "width": base[0], "height": base[1]}
        )


def _questions(now: Arrangement) -> dict[str, str]:
    missing = not_arrived(now.card)
    if not missing:
        return {}
    words = ngettext(
        "%(count)d file that was listed has not come in: %(names)s. Accept without it?",
        "%(count)d files that were listed have not come in: %(names)s. Accept without them?",
        len(missing),
    )
    return {"not_arrived": words % {"count": len(missing), "names": _listed(missing)}}


def _listed(names: list[str]) -> str:
    shown = ", ".join(names[:5])
    if len(names) <= 5:
        return shown
    return _("%(names)s and %(more)d more") % {"names": shown, "more": len(names) - 5}


def _in_station_order(now: Arrangement) -> list[tuple[IncomingFrame, int | None]]:
    """With their stations; of one station by time; those left out without a station at the end."""
    beyond = now.laid.stations
    standing = [(frame, now.place_of(frame)) for frame in now.frames if frame.pk not in now.known]
    return sorted(standing, key=lambda one: beyond if one[1] is None else one[1])


def _number(now: Arrangement, frames: list[tuple[IncomingFrame, int | None]]) -> None:
    if not frames:
        return
    card, season = now.card, now.card.season
    numbers = take_numbers(season, NumberKind.PHOTO, len(frames))
    photographs = [
        Photograph(
            season=season,
            n=n,
            picture=frame.picture,
            dive=card.dive,
            kind=PhotoKind.FRAME,
            stage=card.run.stage,
            photographer=card.photographer,
        )
        for n, (frame, _place) in zip(numbers, frames, strict=True)
    ]
    make_many(photographs)
    rows = [
        _frame(now, photograph, incoming, place)
        for photograph, (incoming, place) in zip(photographs, frames, strict=True)
    ]
    _note_measures(rows)
    kept = [row for row in rows if row.is_kept]
    made = placements_by_station(card, [_on_station(row) for row in kept])
    for row, placement in zip(kept, made, strict=True):
        row.placement = placement
    make_many(rows)
    _correct_times(card, frames)
    recount_squares(card.run.stage, frames_lie_on(card.run.grid, kept))


def _note_measures(frames: list[Frame]) -> None:
    """Of those that were looked at by now; the rest is judged from what is looked at later."""
    measures = measures_of(frame.photograph.picture for frame in frames)
    for frame in frames:
        measured = measures.get(frame.photograph.picture_id)
        if measured is not None:
            frame.sharpness, frame.exposure = measured.sharpness, measured.exposure


def _on_station(frame: Frame) -> tuple[Picture, RunRow, int]:
    assert frame.row is not None  # those that are kept stand on one
    assert frame.station is not None
    return frame.photograph.picture, frame.row, frame.station


def _frame(
    now: Arrangement, photograph: Photograph, incoming: IncomingFrame, place: int | None
) -> Frame:
    row, station = (None, None) if place is None else now.card.run.stations[place]
    return Frame(
        photograph=photograph,
        card=now.card,
        row=row,
        station=station,
        is_kept=not incoming.left_out_reason,
        left_out_reason=incoming.left_out_reason,
    )


def _correct_times(card: Card, frames: list[tuple[IncomingFrame, int | None]]) -> None:
    """The camera's clock was fast or slow: pictures bear the time as it was."""
    if not card.clock_offset_s:
        return
    timed = []
    for frame, _place in frames:
        if frame.picture is not None and frame.picture.taken_at is not None:
            frame.picture.taken_at = frame.picture.taken_at - card.clock_offset
            timed.append(frame.picture)
    save_many(timed, "taken_at")


def _pair_raw_files(now: Arrangement) -> None:
    """A raw file belongs to the picture of the same path but for the extension."""
    pictures = {_stem(frame): frame.picture for frame in now.frames if frame.picture}
    raws = [one for one in now.others if one.role == CardFileRole.RAW]
    paired = []
    alone = []
    for raw in raws:
        picture = pictures.get(_stem(raw))
        if picture is not None and picture.raw_file_id is None:
            picture.raw_file = raw.file
            paired.append(picture)
        elif picture is None or picture.raw_file_id != raw.file_id:
            alone.append(raw)
    save_many(paired, "raw_file")
    _keep_unpaired(now.card, alone)


def _keep_unpaired(card: Card, raws: list[IncomingFrame]) -> None:
    """A raw file without its picture is a picture that is kept and listed, not shown."""
    site = card.season.site
    known = Picture.objects.standing().filter(site=site, file__in=[raw.file for raw in raws])
    there = {picture.file_id: picture for picture in known}
    fresh = []
    for raw in raws:
        if raw.file_id not in there:
            there[raw.file_id] = Picture(
                site=site, file=raw.file, original_name=raw.original_name.rpartition("/")[2]
            )
            fresh.append(there[raw.file_id])
        raw.picture = there[raw.file_id]
    make_many(fresh)
    save_many(raws, "picture")


def _stem(file: IncomingFrame) -> str:
    return file.original_name.rpartition(".")[0].casefold()
