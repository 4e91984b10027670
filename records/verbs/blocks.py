"""Blocks of numbers given out ahead, and how each of their numbers ends."""

from dataclasses import asdict, dataclass
from uuid import UUID

from django.utils.translation import gettext as _

from records.models import (
    NumberBlock,
    NumberEnd,
    NumberEndKind,
    NumberKind,
    Season,
)
from records.permissions import May
from records.refusals import Conflict, Refused
from records.verbs.guard import UNTIL_DEPOSITED, as_made_before, current, save_in_words, verb
from records.verbs.numbers import locked_counter

GIVEN_AHEAD = (NumberKind.FIND, NumberKind.DRAWING)
MOST_NUMBERS = 1000


@dataclass(frozen=True)
class BlockEntry:
    """Numbers `first` to `last` of a kind, in whose hands and what for."""

    kind: str
    first: int
    last: int
    given_to: str
    purpose: str = ""


@verb(May.LEAD, UNTIL_DEPOSITED)
def give_block(season: Season, entry: BlockEntry, id: UUID) -> NumberBlock:
    """Give out numbers that nothing bears yet and that are in nobody's hands."""
    if (known := as_made_before(NumberBlock, id, **asdict(entry))) is not None:
        return known
    counter = locked_counter(season, NumberKind(entry.kind))
    if entry.kind not in GIVEN_AHEAD:
        raise Refused(_("Only find tags and drawing sheets are numbered ahead."), field="kind")
    if entry.last < entry.first:
        raise Refused(_("The last number comes before the first."), field="last")
    if entry.last - entry.first >= MOST_NUMBERS:
        raise Refused(_("A block has at most 1,000 numbers."), field="last")
    if entry.first <= counter.last:
        raise Refused(
            _("Numbers up to %(last)s are given already. Begin at %(next)s or later.")
            % {"last": counter.last, "next": counter.last + 1},
            field="first",
        )
    _demand_free(season, entry)
    return save_in_words(NumberBlock(id=id, season=season, **asdict(entry)))


def _demand_free(season: Season, entry: BlockEntry) -> None:
    other = (
        NumberBlock.objects.standing()
        .filter(season=season, kind=entry.kind, first__lte=entry.last, last__gte=entry.first)
        .first()
    )
    if other is not None:
        raise Refused(
            _("%(first)s to %(last)s are with %(who)s already.")
            % {"first": other.first, "last": other.last, "who": other.given_to},
            field="first",
        )


@verb(May.LEAD, UNTIL_DEPOSITED)
def end_numbers(
    block: NumberBlock, first: int, last: int, *, end: str, reason: str = ""
) -> list[NumberEnd]:
    """Numbers of a block that come back unused, or are void (lost, spoilt) with a reason."""
    block = current(NumberBlock, block.pk, None)
    if end not in {NumberEndKind.RETURNED, NumberEndKind.VOID}:
        raise Refused(_("A number ends as used when something bears it."), field="end")
    if not block.first <= first <= last <= block.last:
        raise Refused(
            _("This block holds %(first)s to %(last)s.")
            % {"first": block.first, "last": block.last},
            field="first",
        )
    ended = set(block.ends.filter(n__range=(first, last)).values_list("n", flat=True))
    still_out = [n for n in range(first, last + 1) if n not in ended]
    if not still_out:
        raise Conflict(_("All these numbers have ended already."))
    return [
        save_in_words(NumberEnd(block=block, n=n, end=end, reason=reason.strip()))
        for n in still_out
    ]


def next_block(
    season: Season, kind: NumberKind, count: int, given_to: str, purpose: str
) -> NumberBlock:
    """The next numbers that nothing bears and nobody holds; part of a guarded verb."""
    counter = locked_counter(season, kind)
    held = NumberBlock.objects.standing().filter(season=season, kind=kind)
    last_held = held.order_by("-last").values_list("last", flat=True).first() or 0
    first = max(counter.last, last_held) + 1
    return save_in_words(
        NumberBlock(
            season=season,
            kind=kind,
            first=first,
            last=first + count - 1,
            given_to=given_to[:120],
            purpose=purpose,
        )
    )


def numbers_out(block: NumberBlock) -> list[int]:
    """Those of its numbers that have not ended; part of a guarded verb."""
    locked_counter(block.season, NumberKind(block.kind))
    ended = set(block.ends.values_list("n", flat=True))
    return [n for n in range(block.first, block.last + 1) if n not in ended]


def use_number(season: Season, kind: NumberKind, n: int) -> int:
    """A number from a block, now borne by a record; part of a guarded verb.

    Refused in words if it is in no block or has ended already.
    """
    locked_counter(season, kind)
    block = block_that_holds(season, kind, n)
    save_in_words(NumberEnd(block=block, n=n, end=NumberEndKind.USED))
    return n


def block_that_holds(season: Season, kind: NumberKind, n: int) -> NumberBlock:
    """The block of a number that is still out, else Refused; asked again where it is used."""
    block: NumberBlock | None = (
        NumberBlock.objects.standing()
        .filter(season=season, kind=kind, first__lte=n, last__gte=n)
        .first()
    )
    if block is None:
        raise Refused(
            _("%(n)s is in no block that was given out. Leave it empty for the next number.")
            % {"n": n},
            field="tag",
        )
    ended = block.ends.filter(n=n).first()
    if ended is not None:
        raise Refused(
            _("%(n)s has ended already: %(how)s.") % {"n": n, "how": ended.get_end_display()},
            field="tag",
        )
    return block
