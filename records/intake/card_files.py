"""A card's file on its whole way in: asked whether it may, kept, recorded on its card."""

from records.acting import acting_account
from records.intake.arrival import BrokenOff, NoRoom, Readable
from records.intake.originals import keep
from records.models import Card, IncomingFrame
from records.permissions import May, demand
from records.refusals import Refused
from records.verbs.cards import FileKey, demand_arriving, note_refused, take_in_card_file
from records.verbs.guard import UNTIL_FIELDWORK_CLOSED, demand_open


def bring_in_card_file(card: Card, stream: Readable, key: FileKey) -> IncomingFrame:
    """Keep the file's bytes, then record them; never inside a transaction.

    What cannot be taken in by its content is told, and noted where the card was listed.
    """
    demand_takes_files(card)
    try:
        kept = keep(stream, name=key.base_name, size_bytes=key.size_bytes)
    except (NoRoom, BrokenOff):
        raise
    except Refused as refusal:
        note_refused(card, key, refusal.words)
        raise
    return take_in_card_file(card, kept, key)


def demand_takes_files(card: Card) -> None:
    """Ask before anything is written to disk; the verb asks again, under its lock."""
    demand(acting_account(), card.season.site, May.RECORD)
    demand_open(card.season, UNTIL_FIELDWORK_CLOSED)
    demand_arriving(card)


def held(card: Card) -> set[FileKey]:
    """The files of the card that are kept and recorded."""
    rows = card.incoming.standing().values_list("original_name", "size_bytes", "modified_ms")
    return {FileKey(*row) for row in rows}
