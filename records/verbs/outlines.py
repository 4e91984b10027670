"""Traced features: made, traced anew, made void; and the site's list of their kinds."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from uuid import UUID, uuid4

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

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
from records.telling import told_number
from records.verbs.answers import NO_ANSWERS, kept_answers
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
from survey.grid import squares_at
from survey.outlines import why_unfit

DECIMALS = 4  # of a metre
FARTHEST_SQUARES = 500  # beyond the grid; no site has so large a feature, and lists count squares

Place = tuple[int, int]  # column and row


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
def trace_outline(
    stage: Stage,
    entry: OutlineEntry,
    id: UUID | None = None,
    answers: Mapping[str, str] = NO_ANSWERS,
) -> Outline:
    """What lies far beside the grid's squares is asked about once."""
    id = id or uuid4()
    said = _said(entry)
    if (known := as_made_before(Outline, id, stage=stage, **said)) is not None:
        return known
    if stage.is_voided or entry.grid.is_voided or entry.grid.site != stage.season.site:
        raise Refused(_("This stage or grid does not stand any more. Open the plan again."))
    _demand_good(entry, stage)
    outline = Outline(id=id, stage=stage, **said)
    outline.answers = _confirmed(outline, answers)
    save_in_words(outline)
    _add_sources(outline, entry)
    return outline


@verb(May.RECORD, UNTIL_DEPOSITED)
def retrace_outline(
    outline: Outline,
    entry: OutlineEntry,
    seen_version: int | None,
    answers: Mapping[str, str] = NO_ANSWERS,
) -> Outline:
    """Other points, kind or words. What it was traced over before stays among its sources."""
    row = current(Outline, outline.pk, seen_version)
    demand_standing(row)
    _demand_good(entry, row.stage)
    for name, value in _said(entry).items():
        if name != "grid":
            setattr(row, name, value)
    row.answers = _confirmed(row, answers)
    save_in_words(row)
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


def _confirmed(outline: Outline, answers: Mapping[str, str]) -> dict[str, object]:
    """The answers to keep; Refused where it cannot lie so."""
    there = set(Square.objects.standing().filter(grid=outline.grid).values_list("column", "row"))
    at = [(c, r) for c, r in squares_at(outline.grid.frame, outline.points_m).tolist()]
    _demand_near(there, at)
    if there.isdisjoint(outline.squares_under):
        raise Refused(_("It lies beside all squares of this grid."), field="points")
    return kept_answers(dict(_doubts(outline, there, at)), answers, outline.answers)


def _demand_near(there: set[Place], at: Sequence[Place]) -> None:
    for of_grid, of_points in zip(zip(*there, strict=True), zip(*at, strict=True), strict=False):
        first, last = min(of_grid) - FARTHEST_SQUARES, max(of_grid) + FARTHEST_SQUARES
        for n, one in enumerate(of_points, 1):
            if not first <= one <= last:
                raise Refused(
                    _("Point %(n)s lies more than %(many)s squares beside the grid. Mend it.")
                    % {"n": n, "many": FARTHEST_SQUARES},
                    field="points",
                )


def _doubts(outline: Outline, there: set[Place], at: Sequence[Place]) -> Iterator[tuple[str, str]]:
    """About points with no square of the grid under or next to them."""
    steps = [(i, j) for i in (-1, 0, 1) for j in (-1, 0, 1)]
    far = [one for one in at if not any((one[0] + i, one[1] + j) in there for i, j in steps)]
    if not far:
        return
    words = ngettext(
        "%(n)s point lies more than a square's side beside the grid's squares: the feature "
        "reaches from x %(x_0)s to %(x_1)s m and from y %(y_0)s to %(y_1)s m.",
        "%(n)s points lie more than a square's side beside the grid's squares: the feature "
        "reaches from x %(x_0)s to %(x_1)s m and from y %(y_0)s to %(y_1)s m.",
        len(far),
    )
    reach = zip(("x_0", "y_0", "x_1", "y_1"), outline.trace.box_m, strict=True)
    yield "points", words % {"n": len(far), **{name: told_number(m) for name, m in reach}}


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
