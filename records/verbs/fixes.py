"""Where a find lies on its grid: one fix stands, the former ones stay to be read as void."""

import math
from collections.abc import Iterator, Mapping
from uuid import UUID, uuid4

from django.utils.translation import gettext as _

from records.models import Find, Fix, Square
from records.permissions import May
from records.refusals import Conflict, Refused
from records.telling import told_number
from records.verbs.answers import NO_ANSWERS, kept_answers
from records.verbs.find_checks import standing_find
from records.verbs.find_entry import FixEntry
from records.verbs.guard import (
    UNTIL_FIELDWORK_CLOSED,
    demand_open,
    made_before,
    save_in_words,
    verb,
    void,
)

OUTSIDE_OF_SIDE = 0.5
"""How far beyond the square's edge offsets are asked about, in sides; farther is refused."""

DEEPER_THAN_DIVE_M = 3
VAGUE_M, FINE_M = 0.5, 0.002

Asked = Iterator[tuple[str, str]]


@verb(May.RECORD, UNTIL_FIELDWORK_CLOSED)
def fix_by_offsets(
    find: Find,
    entry: FixEntry,
    id: UUID | None = None,
    seen_version: int | None = None,
    answers: Mapping[str, str] = NO_ANSWERS,
) -> Fix:
    """Offsets from the square's corner; a fix that stood is replaced. The find's version rises."""
    if id is not None and (known := made_before(Fix, id)) is not None:
        return _sent_again(known, find, entry)
    row = standing_find(find, seen_version)
    square = _square_of(row)
    _refuse_impossible(square, entry)
    confirmed = kept_answers(dict(_doubts(row, square, entry)), answers, {})
    _void_standing(row, _("replaced: measured again"))
    return _place(row, square, entry, confirmed, id)


def follow_the_square(find: Find, before: Square | None) -> None:
    """After the find was put on another square: offsets were measured from a corner, so they
    stay and the fix moves; off the grid there is none. Part of a guarded verb."""
    fix = Fix.objects.standing().filter(find=find).first()
    if fix is None or before is None or before == find.square:
        return
    demand_open(find.season, UNTIL_FIELDWORK_CLOSED)
    x_m, y_m = before.offsets_of(fix.x_m, fix.y_m)
    _void_standing(find, _("replaced: the find's square was corrected"))
    if find.square is not None:
        entry = FixEntry(x_m, y_m, fix.depth_m, fix.sigma_m)
        _place(find, find.square, entry, fix.answers, None)


def save_because(find: Find, words: str) -> Find:
    """Save what hangs on the find as a change of it, told in words in its history."""
    limit = Find.history.model._meta.get_field("history_change_reason").max_length
    if limit is not None and len(words) > limit:
        raise Refused(_("Say it in at most %(limit)s letters.") % {"limit": limit}, field="reason")
    find._change_reason = words  # type: ignore[attr-defined]
    return save_in_words(find)


def _square_of(find: Find) -> Square:
    if find.square is None:
        raise Refused(
            _("This find lies off the grid: it has no corner to measure from. Say where in words.")
        )
    return find.square


def _void_standing(find: Find, reason: str) -> None:
    for former in Fix.objects.standing().filter(find=find).select_for_update():
        void(former, reason)


def _place(
    find: Find, square: Square, entry: FixEntry, answers: dict[str, object], id: UUID | None
) -> Fix:
    x_m, y_m = square.point_at(entry.offset_x_m, entry.offset_y_m)
    fix = Fix(
        id=id or uuid4(),
        find=find,
        grid=square.grid,
        x_m=x_m,
        y_m=y_m,
        depth_m=entry.depth_m,
        sigma_m=entry.sigma_m,
        answers=answers,
    )
    save_in_words(fix)
    save_because(find, _("position: %(fix)s") % {"fix": told_fix(entry)})
    return fix


def told_fix(entry: FixEntry) -> str:
    told = {
        "x": told_number(entry.offset_x_m),
        "y": told_number(entry.offset_y_m),
        "sigma": told_number(entry.sigma_m),
        "depth": told_number(entry.depth_m),
    }
    if entry.depth_m is None:
        return _("x %(x)s m, y %(y)s m, σ %(sigma)s m") % told
    return _("x %(x)s m, y %(y)s m, depth %(depth)s m, σ %(sigma)s m") % told


def _refuse_impossible(square: Square, entry: FixEntry) -> None:
    if not (math.isfinite(entry.sigma_m) and entry.sigma_m > 0):
        raise Refused(
            _("No position is exact: give an uncertainty of more than 0 m."), field="sigma_m"
        )
    if entry.depth_m is not None and not math.isfinite(entry.depth_m):
        raise Refused(_("Give the depth in metres."), field="depth_m")
    side_m = square.grid.side_m
    for name in ("offset_x_m", "offset_y_m"):
        offset_m = getattr(entry, name)
        if not math.isfinite(offset_m):
            raise Refused(_("Give the offset in metres."), field=name)
        if abs(offset_m - side_m / 2) > side_m * (0.5 + OUTSIDE_OF_SIDE):
            raise Refused(
                _(
                    "%(offset)s m lies far outside %(square)s, whose side is %(side)s m. "
                    "Look at the offset, or put the find on the square where it lies."
                )
                % {
                    "offset": told_number(offset_m),
                    "square": square,
                    "side": told_number(side_m),
                },
                field=name,
            )


def _doubts(find: Find, square: Square, entry: FixEntry) -> Asked:
    side_m = square.grid.side_m
    for name in ("offset_x_m", "offset_y_m"):
        offset_m = getattr(entry, name)
        if not 0 <= offset_m <= side_m:
            yield (
                name,
                _("%(offset)s m lies outside %(square)s, whose side is %(side)s m.")
                % {"offset": told_number(offset_m), "square": square, "side": told_number(side_m)},
            )
    deepest_m = find.dive.greatest_depth_m if find.dive else None
    if entry.depth_m is not None and entry.depth_m < 0:
        yield "depth_m", _("A depth below 0 lies above the site's datum.")
    elif entry.depth_m is not None and deepest_m is not None:
        if entry.depth_m > deepest_m + DEEPER_THAN_DIVE_M:
            yield (
                "depth_m",
                _("%(depth)s m is deeper than the dive went (%(deepest)s m).")
                % {"depth": told_number(entry.depth_m), "deepest": told_number(deepest_m)},
            )
    if not FINE_M <= entry.sigma_m <= VAGUE_M:
        yield (
            "sigma_m",
            _("An uncertainty of %(sigma)s m is uncommon for offsets.")
            % {"sigma": told_number(entry.sigma_m)},
        )


def _sent_again(known: Fix, find: Find, entry: FixEntry) -> Fix:
    offsets = known.offsets_m
    said = (entry.offset_x_m, entry.offset_y_m)
    near = offsets is not None and all(
        abs(a - b) < 1e-9 for a, b in zip(offsets, said, strict=True)
    )
    same = (known.find_id, known.depth_m, known.sigma_m) == (find.pk, entry.depth_m, entry.sigma_m)
    if near and same:
        return known
    raise Conflict(
        _("This form was saved already, with other content. Open the record to change it.")
    )
