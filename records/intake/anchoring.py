"""Frames of a card laid by the boards that they show: the door to `survey.anchored`."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache, partial

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from records.intake.codes import SeenCode, codes_of
from records.intake.tags import (
    Tag,
    between_rows,
    contradicted,
    doubts_of,
    tags_in,
    without_tags_over,
)
from records.models import Card, IncomingFrame, PhotoRun
from records.refusals import in_words
from survey.anchored import lay_anchored
from survey.anchors import Anchor, AnchoredLaying, AnchorKind, Likeness
from survey.errors import Unfit
from survey.markers import Kind, Meaning, meaning_of
from survey.stations import Laid, Shot, in_order

# Of two boards in one frame, the one that is meant is larger by this factor.
CLEARLY_LARGER = 1.5

SHORT = {
    "taken-again": lambda: _("Taken again"),
    "before-board": lambda: _("Before the board"),
    "after-end": lambda: _("After the last station"),
    "stray": lambda: _("One too many"),
}


@dataclass(frozen=True)
class Proposed:
    """`laid`; by key: `spare`, in a few words why a frame stands on no station, `reasons` in
    sentences, `unsure`, why its station is not sure; by station (from 0 over the run) `passed`, why
    it is believed passed over; `remarks` on the card as a whole."""

    laid: Laid
    spare: dict[str, str] = field(default_factory=dict)
    reasons: dict[str, list[str]] = field(default_factory=dict)
    unsure: dict[str, str] = field(default_factory=dict)
    passed: dict[int, str] = field(default_factory=dict)
    remarks: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class Boards:
    """By key: anchors, what their boards are called, what is odd about them, and tags of squares
    in other frames."""

    anchors: dict[str, Anchor]
    names: dict[str, str]
    odd: dict[str, str]
    all_looked_at: bool
    tags: dict[str, Tag] = field(default_factory=dict)

    @property
    def tell(self) -> bool:
        """Whether anything in the frames says where they stand."""
        return bool(self.anchors or self.tags)


def boards_in(card: Card, frames: Iterable[IncomingFrame]) -> Boards:
    """Two queries, however many frames; three where tags are seen."""
    run, by_key = card.run, {str(frame.pk): frame for frame in frames}
    keys = {key: frame.picture for key, frame in by_key.items() if frame.picture is not None}
    codes = codes_of(keys.values())
    found = Boards({}, {}, {}, all(picture.pk in codes for picture in keys.values()))
    orders = [row.order for row in run.in_order]
    number = run.board_number if any(codes.values()) else 0
    for key, picture in keys.items():
        meant = _meant(codes.get(picture.pk, ()))
        if not meant:
            continue
        kind, name = _anchor(meant[0], orders, number)
        clash = len(meant) > 1
        found.anchors[key] = Anchor(AnchorKind.ASIDE) if clash or kind is None else kind
        found.names[key] = name
        if clash:
            found.odd[key] = _("It shows two boards, so that it is not known which is meant.")
        elif kind is None:
            found.odd[key] = _("It shows a board that is not of this run.")
    others = {key: by_key[key] for key in keys if key not in found.anchors}
    seen = {key: codes.get(keys[key].pk, []) for key in others}
    return replace(found, tags=tags_in(card, others, seen))


def _meant(codes: Sequence[SeenCode]) -> list[Meaning]:
    """The board of a frame; two where none is clearly larger."""
    boards = [(one.size, meaning_of(one.code)) for one in codes]
    boards = [one for one in boards if one[1].kind not in (Kind.BASE, Kind.SQUARE)]
    near = [meaning for size, meaning in boards if size * CLEARLY_LARGER > boards[0][0]]
    return list(dict.fromkeys(near))[:2]


def _anchor(meaning: Meaning, orders: list[int], number: int) -> tuple[Anchor | None, str]:
    if meaning.kind is Kind.RUN:
        of_this = Anchor(AnchorKind.RUN_BOARD) if meaning.number == number else None
        return of_this, _("Run board %(n)d") % {"n": meaning.number}
    begins = meaning.kind is Kind.ROW_BEGINS
    words = _("Board: row %(n)d begins") if begins else _("Board: row %(n)d ends")
    kind = AnchorKind.ROW_BEGINS if begins else AnchorKind.ROW_ENDS
    row = orders.index(meaning.number) if meaning.number in orders else None
    return None if row is None else Anchor(kind, row), words % {"n": meaning.number}


def by_boards_and_likeness(
    run: PhotoRun,
    shots: Sequence[Shot],
    boards: Boards,
    fill: Iterable[int],
    alike: Sequence[Likeness],
) -> Proposed | Unfit:
    """The frames as boards, tags and what their pictures share hold them, the reasons in words."""
    rows = tuple(row.stations for row in run.in_order)
    lay = partial(_laid, tuple(shots), rows, tuple(fill), tuple(alike))
    found = lay(tuple(boards.anchors.items()))
    tags = between_rows(boards.tags, in_order(shots), boards.anchors)
    if isinstance(found, Unfit) or not tags:
        return found if isinstance(found, Unfit) else _told(run, found, boards, tags)
    wrong = contradicted(found, rows, tags)
    by_tags = {key: tag.anchor for key, tag in tags.items() if key not in wrong}
    anchors = boards.anchors | {key: one for key, one in by_tags.items() if one is not None}
    held = lay(tuple(anchors.items()))
    if isinstance(held, Unfit) or not held.laid.on:
        return _told(run, found, boards, tags, _tags_do_not_agree())
    return _told(run, held, boards, tags)


@lru_cache(maxsize=16)
def _laid(
    shots: tuple[Shot, ...],
    rows: tuple[int, ...],
    fill: tuple[int, ...],
    alike: tuple[Likeness, ...],
    anchors: tuple[tuple[str, Anchor], ...],
) -> AnchoredLaying | Unfit:
    """Kept for a while: a sheet that is looked at every few seconds is laid once."""
    return lay_anchored(shots, rows, dict(anchors), fill=fill, likenesses=alike)


def _tags_do_not_agree() -> str:
    return _(
        "The tags of squares in these frames do not agree with each other or with the boards; "
        "the frames are laid without them."
    )


def _told(
    run: PhotoRun, found: AnchoredLaying, boards: Boards, tags: Mapping[str, Tag], *remarks: str
) -> Proposed:
    again = {
        doubt.key: doubt.station
        for doubt in found.doubts
        if doubt.key is not None and doubt.station is not None and doubt.told.code == "taken-again"
    }
    laid = without_tags_over(found.laid, again, tags)
    names = boards.names | {key: tag.name for key, tag in tags.items()}
    proposed = Proposed(laid, spare=names, remarks=list(remarks))
    for key, words in boards.odd.items():
        proposed.reasons[key] = [words]
    for doubt in found.doubts:
        code, words = doubt.told.code, in_words(doubt.told)
        if doubt.key is None:
            if doubt.station is not None:
                proposed.passed[doubt.station] = words
        elif code == "unsure":
            proposed.unsure[doubt.key] = words
        elif doubt.key not in laid.on:
            if doubt.key not in tags:
                proposed.spare[doubt.key] = SHORT[code]()
            proposed.reasons.setdefault(doubt.key, []).append(words)
    proposed.unsure.update(doubts_of(laid, tags))
    loose = [doubt.row for doubt in found.doubts if doubt.told.code == "row-not-anchored"]
    proposed.remarks.extend(_loose(run, [row for row in loose if row is not None]))
    return proposed


def _loose(run: PhotoRun, rows: Sequence[int]) -> list[str]:
    if not rows:
        return []
    named = ", ".join(str(run.in_order[row].order) for row in rows)
    return [
        ngettext(
            "No board or tag was found for row %(rows)s. It may be shifted as a whole: "
            "compare its first frame with the plan.",
            "No board or tag was found for rows %(rows)s. Each may be shifted as a whole: "
            "compare its first frame with the plan.",
            len(rows),
        )
        % {"rows": named}
    ]


def without_boards(run: PhotoRun, laid: Laid, boards: Boards) -> Proposed:
    """The plain proposal, and that nothing holds its rows."""
    used = {run.stations[place][0].pk for place in laid.on.values()}
    rows = [n for n, row in enumerate(run.in_order) if row.pk in used]
    return Proposed(laid, remarks=_loose(run, rows) if boards.all_looked_at and rows else [])


def with_remark(proposed: Proposed, told: Unfit) -> Proposed:
    return replace(proposed, remarks=[in_words(told), *proposed.remarks])
