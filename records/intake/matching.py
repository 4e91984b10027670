"""Frames of a card and the stations of its run: the door to `survey.stations`."""

from collections.abc import Iterable

from django.db.models import QuerySet

from records.intake.alike import likenesses_of, shot_of
from records.intake.anchoring import (
    Proposed,
    boards_in,
    by_boards_and_likeness,
    with_remark,
    without_boards,
)
from records.intake.run_verdict import verdict_of
from records.models import Card, Frame, IncomingFrame, PhotoRun
from survey.stations import Laid, in_order, propose, stations_to_fill


def in_taken_order(frames: Iterable[IncomingFrame]) -> list[IncomingFrame]:
    by_key = {str(frame.pk): frame for frame in frames}
    return [by_key[shot.key] for shot in in_order(shot_of(frame) for frame in by_key.values())]


def proposal(card: Card, frames: Iterable[IncomingFrame], taken: Iterable[int]) -> Proposed:
    """By the boards that frames show and what their pictures share, else in order of time. `taken`:
    the run's stations, counted from 0, on which frames of other cards stand; where the last is
    among them, onto the stations that the verdict wants again."""
    run, frames = card.run, list(frames)
    count = len(run.stations)
    fill = stations_to_fill(count, set(taken))
    if count - 1 in taken:  # the run is through: this card is of what had to be shot again
        verdict = verdict_of(run)
        fill = list(verdict.found.again) if verdict and verdict.found.again else fill
    shots = [shot_of(frame) for frame in frames]
    boards = boards_in(card, frames)
    by_order = without_boards(run, propose(shots, count, fill), boards)
    alike = likenesses_of(card, frames)
    if not boards.tell and all(one.offset_steps is None for one in alike):
        return by_order
    found = by_boards_and_likeness(run, shots, boards, fill, alike)
    return found if isinstance(found, Proposed) else with_remark(by_order, found)


def laid_from(run: PhotoRun, frames: Iterable[IncomingFrame], first: int) -> Laid:
    """The frames in order of time from one station on, whatever stands there of other cards."""
    count = len(run.stations)
    return propose((shot_of(frame) for frame in frames), count, range(first, count))


def taken_elsewhere(run: PhotoRun, *, but: Card) -> dict[int, list[str]]:
    """Stations with kept frames of other accepted cards: counted from 0 → their numbers."""
    found: dict[int, list[str]] = {}
    for frame in kept_frames(run).exclude(card=but):
        at = run.places.get((frame.row_id, frame.station))
        if at is not None:
            found.setdefault(at, []).append(frame.photograph.number)
    return found


def kept_frames(run: PhotoRun) -> QuerySet[Frame]:
    return (
        Frame.objects.filter(card__run=run, is_kept=True, photograph__voided_at=None)
        .select_related("photograph__season")
        .order_by("photograph__n")
    )
