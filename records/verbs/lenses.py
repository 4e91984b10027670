"""A set-up's lens: pictures of the printed board brought in, and a lens kept for the frames that
are laid from a time on."""

import datetime
from collections.abc import Sequence
from dataclasses import dataclass
from uuid import UUID

from django.utils.translation import gettext as _

from records.intake.calibrating import LensFound, board_told, marks_told
from records.intake.corners import BOARD
from records.intake.wanted import want_corners
from records.models import (
    BoardPicture,
    Lens,
    LensFrom,
    Mark,
    Picture,
    PlacedBy,
    Placement,
    Season,
    TowerSetUp,
    version_at,
)
from records.permissions import May
from records.refusals import Refused
from records.verbs.guard import (
    UNTIL_FIELDWORK_CLOSED,
    current,
    demand_standing,
    made_before,
    save_in_words,
    verb,
    void,
)
from records.verbs.placing import MarkEntry, kept_by_marks
from records.verbs.set_up_versions import (
    demand_begun,
    demand_of_site,
    demand_size,
    lay_anew,
    placed_by_footprint,
)


@dataclass(frozen=True)
class LensEntry:
    """`valid_from`: when the version with this lens begins; None: with the set-up's first use.
    `lay_anew`: frames of this season that were accepted already take it too."""

    name: str
    found_from: LensFrom
    valid_from: datetime.datetime | None = None
    lay_anew: bool = False


@verb(May.LEAD, UNTIL_FIELDWORK_CLOSED)
def add_board_picture(
    season: Season, set_up: TowerSetUp, picture: Picture, id: UUID
) -> BoardPicture:
    """For the next lens; the same picture twice is one."""
    if (before := made_before(BoardPicture, id)) is not None:
        return before
    row = current(TowerSetUp, set_up.pk, None)
    demand_of_site(season, row)
    demand_of_site(season, picture)
    demand_standing(row)
    demand_size(row, picture)
    same = BoardPicture.objects.filter(set_up=row, picture=picture, lens=None, voided_at=None)
    known: BoardPicture | None = same.first()
    if known is not None:
        return known
    made = save_in_words(BoardPicture(id=id, set_up=row, picture=picture))
    want_corners(picture, BOARD)
    return made


@verb(May.LEAD, UNTIL_FIELDWORK_CLOSED)
def leave_out_board_picture(season: Season, one: BoardPicture, reason: str) -> BoardPicture:
    """For a blurred one, or one taken with another focus; it can be brought in again."""
    row = current(BoardPicture, one.pk, None)
    demand_of_site(season, row.set_up)
    if row.lens_id is not None:
        raise Refused(_("A lens was found from this picture already, so it stays with it."))
    if not row.is_voided:
        void(row, reason)
    return row


@verb(May.LEAD, UNTIL_FIELDWORK_CLOSED)
def keep_lens(season: Season, set_up: TowerSetUp, entry: LensEntry, id: UUID) -> Lens:
    """A lens as it is found now, and the set-up's version that begins with it."""
    if (before := made_before(Lens, id)) is not None:
        return before
    row = current(TowerSetUp, set_up.pk, None)
    demand_of_site(season, row)
    demand_standing(row)
    demand_begun(entry.valid_from)
    found = _found(row, entry.found_from)
    lens = save_in_words(
        Lens(
            id=id,
            site=row.site,
            name=entry.name,
            focal_length_mm=row.focal_length_mm,
            **found.fields,
        )
    )
    if entry.found_from == LensFrom.BOARD:
        _take(row, lens)
    row.lens = lens
    save_in_words(row)
    version = _version_with(row, lens, entry.valid_from)
    if entry.lay_anew:
        lay_anew(season, row, only=version)
    return lens


def _found(set_up: TowerSetUp, found_from: LensFrom) -> LensFound:
    if found_from == LensFrom.MARKS:
        by_marks = marks_told(set_up)
        if isinstance(by_marks, LensFound):
            return by_marks
        raise Refused(by_marks, field="found_from")
    told = board_told(set_up)
    if told.found is None:
        words = told.refused or _("Bring in pictures of the printed board first.")
        raise Refused(words, field="found_from")
    return told.found


def _take(set_up: TowerSetUp, lens: Lens) -> None:
    """The pictures that stand have had their part; the next lens begins with none."""
    for one in BoardPicture.objects.filter(set_up=set_up, lens=None, voided_at=None):
        one.lens = lens
        save_in_words(one)


def _version_with(
    set_up: TowerSetUp, lens: Lens, valid_from: datetime.datetime | None
) -> Placement:
    """The version in force by then, placed anew through the lens: by its marks where it has any."""
    versions = set_up.versions()
    if valid_from is None:
        versions = [one for one in versions if one.valid_from is None] or versions
    former = version_at(versions, valid_from)
    if former.method == PlacedBy.MARKS:
        assert former.picture is not None  # it was marked on one
        marks = _marks_of(former)
        return kept_by_marks(former.picture, marks, lens, set_up=set_up, valid_from=valid_from)
    return placed_by_footprint(set_up, valid_from)


def _marks_of(version: Placement) -> Sequence[MarkEntry]:
    return [
        MarkEntry(one.u_px, one.v_px, one.x_m, one.y_m, one.label)
        for one in Mark.objects.filter(placement=version).order_by("made_at")
    ]
