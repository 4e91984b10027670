"""Traced features: made, traced anew, made void; and the site's list of their kinds."""

from collections.abc import Sequence
from dataclasses import dataclass
from uuid import UUID, uuid4

from django.utils.translation import gettext as _

from records.models import (
    MOST_KINDS,
    Grid,
    Outline,
    OutlineSource,
    Placement,
    Site,
    Square,
    Stage,
    kinds_of,
)
from records.permissions import May
from records.refusals import Refused, in_words
from records.verbs.guard import (
    ALWAYS,
    UNTIL_DEPOSITED,
    as_made_before,
    current,
    demand_standing,
    save_in_words,
    verb,
    void,
)
from survey.outlines import why_unfit

DECIMALS = 4  # of a metre


@dataclass(frozen=True)
class OutlineEntry:
    """What was traced. `points_m`: x, y on the grid; `placements`: the pictures under it."""

    grid: Grid
    kind: str
    shape: str
    points_m: Sequence[tuple[float, float]]
    label: str = ""
    remark: str = ""
    traced_over: str = ""
    placements: Sequence[UUID] = ()


@verb(May.RECORD, UNTIL_DEPOSITED)
def trace_outline(stage: Stage, entry: OutlineEntry, id: UUID | None = None) -> Outline:
    id = id or uuid4()
    said = _said(entry)
    if (known := as_made_before(Outline, id, stage=stage, **said)) is not None:
        return known
    if stage.is_voided or entry.grid.is_voided or entry.grid.site != stage.season.site:
        raise Refused(_("This stage or grid does not stand any more. Open the plan again."))
    _demand_good(entry, stage)
    outline = save_in_words(Outline(id=id, stage=stage, **said))
    _demand_on_squares(outline)
    _add_sources(outline, entry)
    return outline


@verb(May.RECORD, UNTIL_DEPOSITED)
def retrace_outline(outline: Outline, entry: OutlineEntry, seen_version: int | None) -> Outline:
    """Other points, kind or words. What it was traced over before stays among its sources."""
    row = current(Outline, outline.pk, seen_version)
    demand_standing(row)
    _demand_good(entry, row.stage)
    for name, value in _said(entry).items():
        if name != "grid":
            setattr(row, name, value)
    save_in_words(row)
    _demand_on_squares(row)
    _add_sources(row, entry)
    return row


@verb(May.LEAD, UNTIL_DEPOSITED)
def void_outline(outline: Outline, reason: str) -> Outline:
    row = current(Outline, outline.pk, None)
    void(row, reason)
    return row


@verb(May.DIRECT, ALWAYS)
def set_outline_kinds(
    site: Site, kinds: Sequence[tuple[str, str]], seen_version: int | None
) -> Site:
    """Letters and name of each. A kind in use stays; each keeps its line and filling."""
    row = current(Site, site.pk, seen_version)
    told = [(letters.strip().upper(), " ".join(name.split())) for letters, name in kinds]
    _demand_told_apart(told)
    used = set(Outline.objects.filter(grid__site=row).values_list("kind", flat=True))
    if gone := sorted(used - {letters for letters, _name in told}):
        raise Refused(
            _("Features of the kind %(kinds)s are recorded, so it stays on the list.")
            % {"kinds": ", ".join(gone)},
            field="kinds",
        )
    looks = {one.letters: one.number for one in kinds_of(row)}
    free = [n for n in range(MOST_KINDS) if n not in {looks.get(letters) for letters, _n in told}]
    row.outline_kinds = [
        {
            "letters": letters,
            "name": name,
            "look": looks[letters] if letters in looks else free.pop(0),
        }
        for letters, name in told
    ]
    return save_in_words(row)


def _said(entry: OutlineEntry) -> dict[str, object]:
    return {
        "grid": entry.grid,
        "kind": entry.kind,
        "shape": entry.shape,
        "points_m": [[round(x, DECIMALS), round(y, DECIMALS)] for x, y in entry.points_m],
        "label": _plain(entry.label),
        "remark": entry.remark.strip(),
        "traced_over": entry.traced_over,
    }


def _plain(text: str) -> str:
    """One line that any file can hold."""
    return " ".join("".join(one if one.isprintable() else " " for one in text).split())


def _demand_good(entry: OutlineEntry, stage: Stage) -> None:
    if entry.kind not in {one.letters for one in kinds_of(stage.season.site)}:
        raise Refused(_("Choose a kind of the site's list."), field="kind")
    problem = why_unfit(entry.shape, list(entry.points_m))
    if problem is not None:
        raise Refused(in_words(problem), field="points")


def _demand_on_squares(outline: Outline) -> None:
    under = set(outline.squares_under)
    columns, rows = {one[0] for one in under}, {one[1] for one in under}
    near = Square.objects.standing().filter(grid=outline.grid, column__in=columns, row__in=rows)
    if not any((one.column, one.row) in under for one in near):
        raise Refused(_("It lies beside all squares of this grid."), field="points")


def _add_sources(outline: Outline, entry: OutlineEntry) -> None:
    known = set(outline.sources.values_list("placement_id", flat=True))
    new = [one for one in dict.fromkeys(entry.placements) if one not in known]
    there = Placement.objects.filter(pk__in=new, grid=outline.grid)
    for placement in there.order_by("pk"):
        save_in_words(OutlineSource(outline=outline, placement=placement))


def _demand_told_apart(told: Sequence[tuple[str, str]]) -> None:
    if not 1 <= len(told) <= MOST_KINDS:
        raise Refused(
            _("Keep between 1 and %(most)s kinds: more cannot be told apart without colour.")
            % {"most": MOST_KINDS},
            field="kinds",
        )
    for letters, name in told:
        if not (letters.isalpha() and len(letters) <= 2 and name):
            raise Refused(
                _("“%(line)s”: begin each line with one or two letters, then the name.")
                % {"line": f"{letters} {name}".strip()},
                field="kinds",
            )
    for part in zip(*((letters, name.casefold()) for letters, name in told), strict=True):
        if twice := sorted({one for one in part if part.count(one) > 1}):
            raise Refused(
                _("%(what)s stands on the list twice.") % {"what": twice[0]}, field="kinds"
            )
