"""What holds the rows of an accepted card: boards, tags, or what frames beside them show."""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from records.intake.anchoring import Boards, boards_in
from records.intake.opinions import RunOpinions
from records.intake.seen import pairs_of
from records.models import Card, CardFileRole, Frame
from survey.anchors import AnchorKind, row_named
from survey.overlap import Decision

# So many pairs of frames have to lie as their stations say before one row holds another.
LEAST_PAIRS = 2
# In place of a row: frames of the run's other cards, which stand where those say.
ELSEWHERE = -1


@dataclass(frozen=True)
class HeldRows:
    """Rows of the card by their order: `anchored` by boards or tags in its own frames; `beside` by
    what its frames share with frames of such rows or of other cards; `loose`, those that nothing
    holds. `all_looked_at`: whether every picture was looked at for codes."""

    anchored: tuple[int, ...]
    beside: tuple[int, ...]
    loose: tuple[int, ...]
    all_looked_at: bool


def held_rows(card: Card, opinions: RunOpinions) -> HeldRows:
    """Of the card's kept frames; four queries, five where tags are seen."""
    kept = [one for one in opinions.frames.values() if one.row_id is not None]
    ours = [one for one in kept if one.card_id == card.pk]
    rows = {one.row.order for one in ours if one.row is not None}
    frames = (
        card.incoming.standing().filter(role=CardFileRole.FRAME).select_related("picture__file")
    )
    incoming = list(frames)
    boards = boards_in(card, incoming)
    stands = {one.photograph.picture_id: one for one in ours}
    by_key = {str(one.pk): stands[one.picture_id] for one in incoming if one.picture_id in stands}
    anchored = (_by_boards(card, boards) | _by_tags(card, boards, by_key)) & rows
    beside = _joined(card, kept, anchored) & (rows - anchored)
    loose = rows - anchored - beside
    in_order = [tuple(sorted(some)) for some in (anchored, beside, loose)]
    return HeldRows(in_order[0], in_order[1], in_order[2], boards.all_looked_at)


def _by_boards(card: Card, boards: Boards) -> set[int]:
    orders = [row.order for row in card.run.in_order]
    counts = [row.stations for row in card.run.in_order]
    named = {row_named(anchor, counts) for anchor in boards.anchors.values()}
    if any(anchor.kind is AnchorKind.RUN_BOARD for anchor in boards.anchors.values()):
        named.add(0)
    return {orders[row] for row in named if row is not None}


def _by_tags(card: Card, boards: Boards, frames: Mapping[str, Frame]) -> set[int]:
    """Rows with a frame that shows a tag as it is seen from the station on which it stands."""
    held = set()
    for key, tag in boards.tags.items():
        frame = frames.get(key)
        if frame is None or frame.row is None or tag.beside:
            continue
        if card.run.places.get((frame.row_id, frame.station)) in tag.stations:
            held.add(frame.row.order)
    return held


def _joined(card: Card, kept: Iterable[Frame], anchored: set[int]) -> set[int]:
    """Rows tied to those anchored, or to frames of other cards, by pairs that lie as they should;
    what is tied to a row so held is held too."""
    ties = _ties(card, kept)
    held = {*anchored, ELSEWHERE}
    reach = list(held)
    while reach:
        here = reach.pop()
        beside = {row for row, count in ties.get(here, {}).items() if count >= LEAST_PAIRS} - held
        held |= beside
        reach += beside
    return held - {ELSEWHERE}


def _ties(card: Card, kept: Iterable[Frame]) -> dict[int, Counter[int]]:
    """Row → row → how many pairs of frames lie to each other as their stations say."""
    row_at = {
        str(one.placement_id): ELSEWHERE if one.card_id != card.pk else one.row.order
        for one in kept
        if one.row is not None
    }
    ties: dict[int, Counter[int]] = {}
    for pair in pairs_of(card.run):
        one, other = row_at.get(pair.one), row_at.get(pair.other)
        if one is None or other is None or pair.seen().decision is not Decision.AGREES:
            continue
        ties.setdefault(one, Counter())[other] += 1
        ties.setdefault(other, Counter())[one] += 1
    return ties
