"""Whether a card may be formatted: asked of listing, stored files and second copy, never a flag."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from enum import Enum

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from records.models import Card

Listing = Mapping[str, list[object]]


@dataclass(frozen=True)
class Held:
    """A file of the card that is kept under its digest; `copied`: on the second copy too."""

    name: str
    size_bytes: int
    modified_ms: int
    copied: bool


class Safety(Enum):
    NOTHING = "nothing"  # no file yet
    SINGLE_FILES = "single files"  # whether the card holds others cannot be seen
    ARRIVING = "arriving"  # listed, and not all here
    NOT_TAKEN_IN = "not taken in"  # what cannot be taken in is still on the card alone
    NOT_COPIED = "not copied"  # all here, and not all on the second copy
    MAY_BE_FORMATTED = "may be formatted"


@dataclass(frozen=True)
class CardSafety:
    safety: Safety
    held: int
    listed: int = 0
    not_arrived: list[str] = field(default_factory=list)
    not_taken_in: list[tuple[str, str]] = field(default_factory=list)
    not_copied: int = 0

    @property
    def may_be_formatted(self) -> bool:
        return self.safety == Safety.MAY_BE_FORMATTED

    @property
    def wants_files(self) -> bool:
        """Whether files are to come before anything else."""
        return self.safety in (Safety.NOTHING, Safety.ARRIVING)

    @property
    def words(self) -> str:
        return _WORDS[self.safety](self)


def safety_of(listing: Listing | None, held: Iterable[Held]) -> CardSafety:
    """Pure: what may be said of a card. `listing` None: no whole folder was listed."""
    files = {(one.name, one.size_bytes, one.modified_ms): one for one in held}
    count = len({one.name for one in files.values()})
    copied = {key for key, one in files.items() if one.copied}
    if not listing:
        waits = len(files) - len(copied)
        single = Safety.SINGLE_FILES if files else Safety.NOTHING
        return CardSafety(single, count, not_copied=waits)
    keys = {name: (name, entry[0], entry[1]) for name, entry in listing.items()}
    missing = [name for name in listing if keys[name] not in files]
    refused = [(name, str(listing[name][2])) for name in missing if len(listing[name]) > 2]
    waiting = [name for name in missing if len(listing[name]) == 2]
    uncopied = len(files) - len(copied)
    if waiting:
        safety = Safety.ARRIVING
    elif refused:
        safety = Safety.NOT_TAKEN_IN
    else:
        safety = Safety.NOT_COPIED if uncopied else Safety.MAY_BE_FORMATTED
    return CardSafety(safety, count, len(listing), waiting, refused, uncopied)


def card_safety(card: Card) -> CardSafety:
    return safety_of(card.listing, _held(card))


def not_arrived(card: Card) -> list[str]:
    return card_safety(card).not_arrived


def _held(card: Card) -> list[Held]:
    rows = card.incoming.standing().values_list(
        "original_name", "size_bytes", "modified_ms", "file__size_bytes", "file__on_second_copy_at"
    )
    return [
        Held(name, size, modified, copied_at is not None)
        for name, size, modified, stored, copied_at in rows
        if stored == size
    ]


def _nothing(_safety: CardSafety) -> str:
    return _("No file has come in yet. Do not format the card.")


def _single(safety: CardSafety) -> str:
    words = ngettext(
        "The file you chose is safe; whether the card holds others cannot be seen from here.",
        "The %(count)d files you chose are safe; whether the card holds others cannot be seen "
        "from here.",
        safety.held,
    )
    return words % {"count": safety.held}


def _arriving(safety: CardSafety) -> str:
    return _(
        "%(held)d of %(listed)d files of the card are here. Do not format it: the others are on "
        "the card alone."
    ) % {
        "held": safety.listed - len(safety.not_arrived) - len(safety.not_taken_in),
        "listed": safety.listed,
    }


def _not_taken_in(safety: CardSafety) -> str:
    words = ngettext(
        "%(count)d file of the card was not taken in and is on the card alone. Look at it before "
        "the card is formatted.",
        "%(count)d files of the card were not taken in and are on the card alone. Look at them "
        "before the card is formatted.",
        len(safety.not_taken_in),
    ) % {"count": len(safety.not_taken_in)}
    if not safety.not_copied:
        return words
    return _("%(words)s And make the second copy first.") % {"words": words}


def _not_copied(safety: CardSafety) -> str:
    return ngettext(
        "All files of the card are here; %(count)d is not on the second copy yet. Make the "
        "second copy before you format the card.",
        "All files of the card are here; %(count)d are not on the second copy yet. Make the "
        "second copy before you format the card.",
        safety.not_copied,
    ) % {"count": safety.not_copied}


def _formatted(safety: CardSafety) -> str:
    return _(
        "This card may be formatted: all %(count)d files of it are stored, verified and on the "
        "second copy."
    ) % {"count": safety.listed}


_WORDS = {
    Safety.NOTHING: _nothing,
    Safety.SINGLE_FILES: _single,
    Safety.ARRIVING: _arriving,
    Safety.NOT_TAKEN_IN: _not_taken_in,
    Safety.NOT_COPIED: _not_copied,
    Safety.MAY_BE_FORMATTED: _formatted,
}
