"""How the frames of a card that is coming in stand on the stations of its run."""

from dataclasses import dataclass
from functools import cached_property
from typing import Any
from uuid import UUID
from zlib import crc32

from django.utils.translation import gettext as _

from records.intake.anchoring import Proposed
from records.intake.matching import in_taken_order, proposal, taken_elsewhere
from records.models import Card, CardFileRole, CardStep, IncomingFrame
from survey.stations import Laid


@dataclass(frozen=True)
class Arrangement:
    """`frames` in the order taken, those left out included; `laid` by their keys as text.

    `known`: frames that are no new photographs, and why. `proposed`: nobody moved anything yet.
    """

    card: Card
    frames: list[IncomingFrame]
    others: list[IncomingFrame]
    known: dict[UUID, str]
    laid: Laid
    taken: dict[int, list[str]]
    last_step: CardStep | None
    proposed_as: Proposed

    @property
    def proposed(self) -> bool:
        return self.last_step is None

    @property
    def seen(self) -> str:
        """What stands on the sheet; a move made on another state of it is told."""
        step = self.last_step.pk if self.last_step else "-"
        stand = crc32(repr(sorted(self.laid.on.items())).encode())
        return f"{step}.{len(self.frames)}.{stand:08x}"

    @property
    def set_up_size(self) -> tuple[int, int]:
        """Of an upright picture of the run's set-up, px."""
        set_up = self.card.run.set_up
        return set_up.picture_width_px, set_up.picture_height_px

    @cached_property
    def odd_sizes(self) -> set[UUID]:
        """Frames that the set-up cannot have taken: its placement does not hold for them."""
        laying = {*self.laid.on, *self.laid.spare}
        return {
            frame.pk
            for frame in self.frames
            if str(frame.pk) in laying
            and frame.picture is not None
            and frame.picture.upright_size_px != self.set_up_size
        }

    @property
    def left_out(self) -> list[IncomingFrame]:
        return [frame for frame in self.frames if frame.left_out_reason]

    def why_spare(self, frame: IncomingFrame) -> str:
        """In a few words why a frame stands on no station, where that is known."""
        key = str(frame.pk)
        return self.proposed_as.spare.get(key, "") if key in self.laid.spare else ""

    def said_of(self, frame: IncomingFrame) -> list[str]:
        """Why it stands on no station, or why its station is not sure until somebody moved one."""
        key = str(frame.pk)
        if key in self.laid.spare:
            return self.proposed_as.reasons.get(key, [])
        unsure = self.proposed_as.unsure.get(key) if self.proposed else None
        return [unsure] if unsure else []

    def place_of(self, frame: IncomingFrame) -> int | None:
        """Where it stands, or stood before it was left out: counted from 0 over the run."""
        if str(frame.pk) in self.laid.on:
            return self.laid.on[str(frame.pk)]
        return self.card.run.places.get((frame.row_id, frame.station))

    def frame(self, pk: UUID) -> IncomingFrame | None:
        return next((frame for frame in self.frames if frame.pk == pk), None)


def arrangement(card: Card) -> Arrangement:
    """A constant number of queries, however many frames."""
    incoming = list(
        card.incoming.standing()
        .select_related("picture__photograph__season", "picture__file", "file", "row")
        .order_by("original_name")
    )
    frames = in_taken_order(one for one in incoming if one.role == CardFileRole.FRAME)
    known = _known(frames)
    last_step = card.steps.standing().order_by("made_at").last()
    taken = taken_elsewhere(card.run, but=card)
    laying = [one for one in frames if not one.left_out_reason and one.pk not in known]
    proposed = proposal(card, laying, taken)
    laid = proposed.laid if last_step is None else _laid_by_hand(card, laying)
    return Arrangement(
        card=card,
        frames=frames,
        others=[one for one in incoming if one.role != CardFileRole.FRAME],
        known=known,
        laid=laid,
        taken=taken,
        last_step=last_step,
        proposed_as=proposed,
    )


def _laid_by_hand(card: Card, frames: list[IncomingFrame]) -> Laid:
    places = card.run.places
    on = {
        str(frame.pk): places[frame.row_id, frame.station]
        for frame in frames
        if (frame.row_id, frame.station) in places
    }
    spare = tuple(str(frame.pk) for frame in frames if str(frame.pk) not in on)
    return Laid(len(card.run.stations), on, spare)


def _known(frames: list[IncomingFrame]) -> dict[UUID, str]:
    """A file is one photograph, whatever cards and names it comes in under."""
    known: dict[UUID, str] = {}
    first: dict[Any, IncomingFrame] = {}
    for frame in frames:
        photograph = getattr(frame.picture, "photograph", None)
        same = first.setdefault(frame.picture_id, frame)
        if photograph is not None:
            known[frame.pk] = _("already in the record as %(number)s") % {
                "number": photograph.number
            }
        elif same is not frame:
            known[frame.pk] = _("the same file as %(name)s") % {"name": same.original_name}
    return known
