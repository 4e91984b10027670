"""Cards: begun for a run and a dive, listed, and filled file by file."""

import datetime
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from uuid import UUID

from django.conf import settings
from django.utils.translation import gettext as _

from records.intake.alike import ask_to_compare_card
from records.intake.names import shown_name
from records.intake.originals import Kept
from records.intake.recognise import Kind
from records.intake.wanted import want_codes, want_measured
from records.models import (
    Card,
    CardFileRole,
    CardState,
    Dive,
    Diver,
    IncomingFrame,
    PhotoRun,
    Picture,
    StoredFile,
)
from records.permissions import May
from records.refusals import Conflict, Refused
from records.verbs.guard import (
    UNTIL_FIELDWORK_CLOSED,
    current,
    demand_standing,
    made_before,
    save_in_words,
    verb,
    void,
)
from records.verbs.pictures import take_in_file, take_in_picture
from survey import camera_clock

ROLES = {
    Kind.PICTURE: CardFileRole.FRAME,
    Kind.RAW: CardFileRole.RAW,
    Kind.VIDEO: CardFileRole.VIDEO,
}


@dataclass(frozen=True)
class FileKey:
    """How a file of a card is known again: its path below the folder, bytes, and modified time."""

    name: str
    size_bytes: int
    modified_ms: int = 0

    @classmethod
    def of(cls, name: str, size_bytes: int, modified_ms: int = 0) -> "FileKey":
        """As it is kept: a name made safe to show is the same however often it is sent."""
        return cls(shown_name(name), size_bytes, modified_ms)

    @property
    def base_name(self) -> str:
        return self.name.rpartition("/")[2] or self.name


@verb(May.RECORD, UNTIL_FIELDWORK_CLOSED)
def begin_card(
    run: PhotoRun,
    dive: Dive,
    id: UUID,
    *,
    photographer: Diver | None = None,
    clock_offset_s: float = 0.0,
) -> Card:
    """`clock_offset_s`: how much the camera's clock is fast (negative: slow)."""
    if (before := made_before(Card, id)) is not None:
        return before
    run = current(PhotoRun, run.pk, None)
    demand_standing(run)
    if dive.season_id != run.season_id:
        raise Refused(_("This dive belongs to another season."), field="dive")
    if dive.is_voided:
        raise Refused(_("This dive is void. Choose another one."), field="dive")
    if photographer is not None and photographer.site_id != run.season.site_id:
        raise Refused(_("This diver belongs to another site."), field="photographer")
    card = Card(id=id, run=run, dive=dive, photographer=photographer, clock_offset_s=clock_offset_s)
    return save_in_words(card)


@verb(May.RECORD, UNTIL_FIELDWORK_CLOSED)
def note_listing(card: Card, listing: Iterable[FileKey]) -> Card:
    """The whole folder as it was listed. What was listed before and is not now stays listed."""
    card = arriving(card)
    keys = list(listing)
    _demand_names_apart(keys)
    listed = dict(card.listing or {})
    for key in keys:
        known = listed.get(key.name)
        if known is None or known[:2] != [key.size_bytes, key.modified_ms]:
            listed[key.name] = [key.size_bytes, key.modified_ms]
    if len(listed) > settings.CARD_FILES_MAX:
        raise Refused(_too_many_words())
    if listed != card.listing:
        card.listing = listed
        card.save()
    return card


def _demand_names_apart(keys: list[FileKey]) -> None:
    """Names are cut and made safe to show: two that then look alike would count as one file."""
    twice = [name for name, count in Counter(key.name for key in keys).items() if count > 1]
    if twice:
        raise Refused(
            _(
                "Two files of this folder cannot be told apart by their names: %(name)s. Bring "
                "them in as single files."
            )
            % {"name": twice[0]}
        )


@verb(May.RECORD, UNTIL_FIELDWORK_CLOSED)
def note_refused(card: Card, key: FileKey, words: str) -> Card:
    """Keep with the listing why a file of it was not taken in."""
    card = arriving(card)
    listed = dict(card.listing or {})
    if key.name in listed:
        listed[key.name] = [key.size_bytes, key.modified_ms, words]
        card.listing = listed
        card.save()
    return card


@verb(May.RECORD, UNTIL_FIELDWORK_CLOSED)
def take_in_card_file(card: Card, kept: Kept, key: FileKey) -> IncomingFrame:
    """A file of the card whose bytes are kept already; the same one sent again is the same row."""
    card = arriving(card)
    before = IncomingFrame.objects.filter(card=card, original_name=key.name).select_related("file")
    for row in before:
        if row.file.sha256 == kept.sha256:
            return _seen_again(row, key)
    if any(
        (row.size_bytes, row.modified_ms) == (key.size_bytes, key.modified_ms) for row in before
    ):
        raise Conflict(
            _(
                "%(name)s came in before with other content. Both are kept; look at the file on "
                "the card, and bring it in under another name if it is wanted."
            )
            % {"name": key.name}
        )
    if card.incoming.count() >= settings.CARD_FILES_MAX:
        raise Refused(_too_many_words())
    role = ROLES[kept.what.kind]
    picture = None if role == CardFileRole.RAW else _picture(card, kept, key, role)
    frame = IncomingFrame(
        card=card,
        picture=picture,
        file=picture.file if picture else _file(card, kept),
        role=role,
        original_name=key.name,
        size_bytes=key.size_bytes,
        modified_ms=key.modified_ms,
    )
    frame.save()
    return frame


def _picture(card: Card, kept: Kept, key: FileKey, role: CardFileRole) -> Picture:
    """A tower frame is turned as its set-up says: a camera looking down knows no upright."""
    turned = card.run.set_up.orientation if role == CardFileRole.FRAME else None
    picture = take_in_picture(card.season, kept, key.base_name, orientation=turned)
    if role == CardFileRole.FRAME:
        want_codes(picture)
        if not want_measured(picture):
            ask_to_compare_card(card)
    return picture


def _file(card: Card, kept: Kept) -> StoredFile:
    return take_in_file(card.season, kept)


def _seen_again(row: IncomingFrame, key: FileKey) -> IncomingFrame:
    """Another machine may read another time from the card: the file is the same by its bytes."""
    if (row.size_bytes, row.modified_ms) != (key.size_bytes, key.modified_ms):
        row.size_bytes, row.modified_ms = key.size_bytes, key.modified_ms
        row.save()
    return row


@verb(May.RECORD, UNTIL_FIELDWORK_CLOSED)
def edit_card(
    card: Card, *, photographer: Diver | None, clock_offset_s: float, seen_version: int
) -> Card:
    card = current(Card, card.pk, seen_version)
    demand_arriving(card)
    card.photographer, card.clock_offset_s = photographer, clock_offset_s
    return save_in_words(card)


@verb(May.RECORD, UNTIL_FIELDWORK_CLOSED)
def set_clock(card: Card, fast_by_s: float) -> Card:
    """How much the camera's clock is fast, s (negative: slow)."""
    card = arriving(card)
    card.clock_offset_s = fast_by_s
    return save_in_words(card)


@verb(May.RECORD, UNTIL_FIELDWORK_CLOSED)
def set_clock_by_watch(card: Card, frame_id: UUID, reads: datetime.time) -> Card:
    """From a frame that shows a watch in the season's zone; at most twelve hours either way."""
    card = arriving(card)
    frame = card.incoming.standing().filter(pk=frame_id).select_related("picture").first()
    if frame is None or frame.picture is None or frame.picture.taken_at is None:
        raise Refused(
            _("This file does not say when it was taken. Choose another frame of the watch."),
            field="reads",
        )
    by_camera = card.season.local(frame.picture.taken_at)
    by_watch = datetime.datetime.combine(by_camera.date(), reads, by_camera.tzinfo)
    half_a_day_s = 12 * 3600.0
    fast_s = camera_clock.clock_offset_s(by_camera.timestamp(), by_watch.timestamp())
    card.clock_offset_s = round((fast_s + half_a_day_s) % (2 * half_a_day_s) - half_a_day_s, 1)
    return save_in_words(card)


@verb(May.RECORD, UNTIL_FIELDWORK_CLOSED)
def set_card_aside(card: Card, reason: str) -> Card:
    """Void a card that was begun by mistake. Its files stay kept; another card may take them."""
    card = arriving(card)
    void(card, reason)
    return card


def arriving(card: Card) -> Card:
    """The card, locked, as long as files and frames may still move on it."""
    card = current(Card, card.pk, None)
    demand_arriving(card)
    return card


def demand_arriving(card: Card) -> None:
    demand_standing(card)
    if card.state != CardState.ARRIVING:
        raise Conflict(
            _("This card was accepted already. Begin another card for what is still to come.")
        )


def _too_many_words() -> str:
    return _(
        "A card takes at most %(most)d files. Bring in the folder of one dive, or begin another "
        "card for the rest."
    ) % {"most": settings.CARD_FILES_MAX}
