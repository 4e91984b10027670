"""The contact sheet of a card: stations in order, what stands on them, and what is doubtful."""

import datetime
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any
from uuid import UUID
from zlib import crc32

from django.utils.translation import gettext as _

from records.intake.arrangement import Arrangement, arrangement
from records.intake.card_clock import OutsideDive, clock_of
from records.intake.card_opinions import card_opinions
from records.models import Card, CardStep, IncomingFrame, Picture
from records.queries.opinions import tags_of, words_of
from records.queries.pictures import with_making
from records.queries.run_map import Stands
from records.queries.sheet_remarks import remarks_of, waiting_words


@dataclass(frozen=True)
class Item:
    """A frame, or (without `key`) a station that none stands on."""

    key: str = ""
    picture: Picture | None = None
    name: str = ""
    place: int | None = None
    station: str = ""
    taken_at: datetime.datetime | None = None
    after_s: int | None = None  # since the frame before
    doubts: list[str] = field(default_factory=list)
    unsure: str = ""  # whether its station is in doubt
    flags: list[str] = field(default_factory=list)  # what its pixels say, a word or two each
    said: list[str] = field(default_factory=list)  # the same in sentences
    sharper: Picture | None = None  # shows the same ground better
    left_out: str = ""
    known: str = ""
    number: str = ""
    photograph_id: UUID | None = None

    @property
    def is_frame(self) -> bool:
        return bool(self.key)

    @property
    def is_spare(self) -> bool:
        return self.is_frame and self.place is None and not (self.left_out or self.known)

    @property
    def words(self) -> str:
        """All of it in one line, for those who cannot see the picture."""
        parts = [
            self.station or _("on no station"),
            self.name,
            *self.doubts,
            self.unsure,
            *self.flags,
        ]
        parts += [_("left out: %(why)s") % {"why": self.left_out}] if self.left_out else []
        parts += [self.known] if self.known else []
        return ", ".join(part for part in parts if part)


@dataclass(frozen=True)
class Sheet:
    card: Card
    items: list[Item]
    spare: list[Item]
    beside: list[Item]  # left out before they stood anywhere, or in the record already
    others: list[IncomingFrame]
    seen: str
    last_step: CardStep | None
    stands: dict[int, Stands]
    remarks: list[str]
    clock: OutsideDive | None = None
    notes: list[str] = field(default_factory=list)  # what holds which rows, once it is accepted
    waiting: str = ""  # what the worker still does, in words

    @property
    def state(self) -> str:
        """All that the page shows of it; another one is worth drawing anew."""
        told = [one.words for one in self.frames], self.remarks, self.waiting
        return f"{self.seen}.{crc32(repr(told).encode()):08x}" if self.seen else ""

    @property
    def frames(self) -> list[Item]:
        return [one for one in (*self.items, *self.spare, *self.beside) if one.is_frame]

    @property
    def clock_proposed_s(self) -> int | None:
        """How many seconds fast the camera's clock would have to be, where one answer is likely."""
        if self.clock is None or self.clock.proposed_s is None:
            return None
        return round(self.clock.proposed_s)

    @property
    def can_leave_told(self) -> bool:
        """Whether frames stand on no station for a reason that is known."""
        return any(one.doubts for one in self.spare)

    @property
    def used(self) -> list[Item]:
        return [one for one in self.items if one.is_frame and not one.left_out]

    @property
    def unfit(self) -> list[Item]:
        """Blurred, badly exposed or specked, by what their pixels say."""
        return [one for one in self.used if one.flags]

    @property
    def unsure(self) -> list[Item]:
        return [one for one in self.used if one.unsure]

    @property
    def left_out(self) -> list[Item]:
        return [one for one in self.frames if one.left_out]

    @property
    def passed_over(self) -> list[Item]:
        return [one for one in self.items if not one.is_frame]

    @property
    def gap_words(self) -> str:
        shown = [one.station for one in self.passed_over]
        words = "; ".join(shown[:3])
        if len(shown) > 3:
            words = _("%(some)s and %(more)d more") % {"some": words, "more": len(shown) - 3}
        return words

    @property
    def is_ready(self) -> bool:
        """Whether it could be accepted as it stands."""
        doubtful = any(one.doubts for one in self.frames if not one.left_out)
        return bool(self.frames or self.others) and not self.spare and not doubtful

    def item(self, key: str) -> Item | None:
        return next((one for one in self.frames if one.key == key), None)

    def after(self, key: str) -> Item | None:
        """The frame that follows on the sheet."""
        keys = [one.key for one in self.frames]
        at = keys.index(key) + 1 if key in keys else len(keys)
        return self.frames[at] if at < len(keys) else None


def sheet_of(card: Card) -> Sheet:
    """Of a card that comes in; a constant number of queries, however many frames."""
    now = arrangement(card)
    made = _Maker(now)
    on_stations = list(made.on_stations())
    shown = {one.key for one in on_stations}
    rest = [made.item(frame) for frame in now.frames if str(frame.pk) not in shown]
    return Sheet(
        card=card,
        items=on_stations,
        spare=[one for one in rest if one.is_spare],
        beside=[one for one in rest if not one.is_spare],
        others=now.others,
        seen=now.seen,
        last_step=now.last_step,
        stands=_stands(now),
        remarks=remarks_of(now),
        clock=clock_of(now),
        waiting=waiting_words(now),
    )


def _stands(now: Arrangement) -> dict[int, Stands]:
    stands = dict.fromkeys(now.taken, Stands.OTHER)
    stands |= {place: Stands.GAP for place in now.laid.gaps if place not in now.taken}
    return stands | dict.fromkeys(now.laid.on.values(), Stands.FRAME)


class _Maker:
    """Items of one arrangement, with what is looked up once for all of them."""

    def __init__(self, now: Arrangement) -> None:
        self.now = now
        self.run = now.card.run
        self.fast_by = now.card.clock_offset
        pictures: Any = Picture.objects.filter(incoming__card=now.card)
        self.making = being_made(pictures)
        self.after_s = _seconds_between(now.frames)
        self.opinions = card_opinions(now)

    def on_stations(self) -> Iterator[Item]:
        """From the first station that is used to the last: tries left out, the frame, or none."""
        tries: dict[int, list[IncomingFrame]] = {}
        for frame in self.now.left_out:
            place = self.now.place_of(frame)
            if place is not None:
                tries.setdefault(place, []).append(frame)
        by_station = self.now.laid.by_station
        used = [*by_station, *tries]
        for place in range(min(used), max(used) + 1) if used else ():
            for frame in tries.get(place, []):
                yield self.item(frame)
            standing = by_station.get(place)
            if standing is not None:
                yield self.item(self._frame(standing))
            elif place not in self.now.taken:
                yield self._gap(place)

    def _gap(self, place: int) -> Item:
        why = self.now.proposed_as.passed.get(place) if self.now.proposed else None
        said = [why] if why else []
        return Item(place=place, station=self.run.station_words(place), said=said)

    def _frame(self, key: str) -> IncomingFrame:
        frame = self.now.frame(UUID(key))
        assert frame is not None
        return frame

    def item(self, frame: IncomingFrame) -> Item:
        place = self.now.place_of(frame)
        picture = frame.picture
        if picture is not None:
            picture.is_being_made = picture.pk in self.making  # type: ignore[attr-defined]
        taken_at = picture.taken_at if picture else None
        return Item(
            key=str(frame.pk),
            picture=picture,
            name=frame.original_name,
            place=place,
            station="" if place is None else self.run.station_words(place),
            taken_at=None if taken_at is None else taken_at - self.fast_by,
            after_s=self.after_s.get(frame.pk),
            doubts=list(self._doubts(frame, place)),
            **self._said(frame),
            left_out=frame.left_out_reason,
            known=self.now.known.get(frame.pk, ""),
        )

    def _said(self, frame: IncomingFrame) -> dict[str, Any]:
        """What its pixels and its neighbours say, and whether its station is sure."""
        opinion = self._opinion(frame)
        said = self.now.said_of(frame)
        if not said:
            return opinion
        unsure = "" if str(frame.pk) in self.now.laid.spare else _("station not sure")
        return opinion | {"unsure": unsure, "said": [*said, *opinion.get("said", [])]}

    def _opinion(self, frame: IncomingFrame) -> dict[str, Any]:
        judged = self.opinions.judged.get(frame.pk)
        if judged is None or not judged.flags:
            return {}
        key = UUID(judged.sharpest) if judged.sharpest else None
        beside = None if key is None else self.now.frame(key)
        known = None if key is None else self.opinions.accepted.get(key)
        name, picture = "", None
        if beside is not None:
            name, picture = beside.original_name, beside.picture
        elif known is not None:
            name, picture = known.photograph.number, known.photograph.picture
        names = {str(frame.pk): frame.original_name, str(key): name}
        said = words_of(judged, names)
        return {"flags": tags_of(judged), "said": said, "sharper": picture}

    def _doubts(self, frame: IncomingFrame, place: int | None) -> Iterator[str]:
        if frame.left_out_reason or frame.pk in self.now.known:
            return
        if frame.pk in self.now.odd_sizes and frame.picture is not None:
            size = frame.picture.upright_size_px
            yield _("%(size)s px, not the set-up's size") % {
                "size": "–" if size is None else f"{size[0]} × {size[1]}"
            }
        if why := self.now.why_spare(frame):
            yield why
        if place in self.now.taken:
            yield _("station has %(number)s already") % {"number": self.now.taken[place][0]}


def being_made(pictures: Any) -> set[UUID]:
    making: Any = with_making(pictures)
    return set(making.filter(is_being_made=True).values_list("pk", flat=True))


def _seconds_between(frames: list[IncomingFrame]) -> dict[UUID, int]:
    timed = [
        (frame.pk, frame.picture.taken_at)
        for frame in frames
        if frame.picture is not None and frame.picture.taken_at is not None
    ]
    return {
        key: round((at - before).total_seconds()) for (_key, before), (key, at) in pairwise(timed)
    }
