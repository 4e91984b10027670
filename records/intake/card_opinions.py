"""What is to be said of the frames of a card that comes in, before any is numbered."""

import datetime
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from uuid import UUID

from records.intake.arrangement import Arrangement
from records.intake.measures import measures_of
from records.intake.opinions import Judgement, accepted, placed_at
from records.intake.seen import placed_frames
from records.models import Frame, IncomingFrame, Picture
from records.models.placements import version_at
from survey import placement as placing
from survey.quality import FrameMeasure, PlacedFrame, judge


@dataclass(frozen=True)
class CardOpinions:
    """By the keys of the card's frames; `accepted`: the run's frames they are held against too."""

    judged: Mapping[UUID, Judgement]
    accepted: Mapping[UUID, Frame]


def card_opinions(now: Arrangement) -> CardOpinions:
    """Of the frames that stand on stations, as they stand now; three queries."""
    incoming = [frame for frame in now.frames if str(frame.pk) in now.laid.on]
    there = {frame.pk: frame for frame in placed_frames(now.card.run)}
    pictures = [frame.picture for frame in incoming if frame.picture is not None]
    pictures += [frame.photograph.picture for frame in there.values()]
    measures = measures_of(pictures)
    arriving = list(_arriving(now, incoming, measures))
    judged = judge([*arriving, *accepted(there.values(), measures)])
    return CardOpinions({UUID(one.key): one for one in judged[: len(arriving)]}, there)


def _arriving(
    now: Arrangement, frames: list[IncomingFrame], measures: Mapping[UUID, FrameMeasure]
) -> Iterator[PlacedFrame]:
    run, versions = now.card.run, now.card.run.set_up.versions()
    for frame in frames:
        picture = frame.picture
        measured = None if picture is None else measures.get(picture.pk)
        if picture is None or measured is None or frame.pk in now.odd_sizes:
            continue
        set_up = version_at(versions, _taken_at(now, picture))
        row, station = run.stations[now.laid.on[str(frame.pk)]]
        placed = placing.placement_on_grid(set_up.as_value, row.pose_at(station))
        yield placed_at(str(frame.pk), measured, placed, (set_up.width_px, set_up.height_px), row)


def _taken_at(now: Arrangement, picture: Picture) -> datetime.datetime | None:
    return None if picture.taken_at is None else picture.taken_at - now.card.clock_offset
