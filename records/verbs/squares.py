"""Grids and their squares: planned by the director, frozen where evidence lies on them."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, fields
from uuid import UUID, uuid4

from django.utils.translation import gettext as _
from simple_history.utils import bulk_create_with_history

from records.acting import acting_account
from records.models import MOST_SQUARES, Grid, LabelStyle, Season, Square, SquareGoal
from records.permissions import May
from records.queries.frozen import grid_bears_evidence, squares_bear_evidence
from records.refusals import Refused
from records.verbs.guard import (
    UNTIL_FIELDWORK_CLOSED,
    current,
    made_before,
    restore,
    save_in_words,
    verb,
    void,
)


@dataclass(frozen=True)
class GridEntry:
    """What the director says of a grid; all but the name is frozen once evidence lies on it."""

    code: str
    name: str
    origin_e_m: float = 0.0
    origin_n_m: float = 0.0
    origin_z_m: float = 0.0
    bearing_deg: float = 0.0
    slope_deg: float = 0.0
    side_m: float = 1.0
    label_style: str = LabelStyle.LETTERS
    first_column: str = "A"
    first_row: str = "1"
    skip_i_and_o: bool = False

    def onto(self, grid: Grid) -> list[str]:
        """Write the entry onto the grid, unsaved; the names of the fields that it changes."""
        changed = [
            one.name for one in fields(self) if getattr(grid, one.name) != getattr(self, one.name)
        ]
        for name in changed:
            setattr(grid, name, getattr(self, name))
        return changed


@verb(May.DIRECT, UNTIL_FIELDWORK_CLOSED)
def plan_grid(
    season: Season,
    entry: GridEntry,
    *,
    columns: int = 0,
    rows: int = 0,
    id: UUID | None = None,
) -> Grid:
    """A grid with so many columns and rows of squares to begin with."""
    id = id or uuid4()
    if (made := made_before(Grid, id)) is not None:
        return made
    grid = Grid(id=id, site=season.site)
    entry.onto(grid)
    save_in_words(grid)
    _add(grid, [(column, row) for column in range(columns) for row in range(rows)])
    return grid


@verb(May.DIRECT, UNTIL_FIELDWORK_CLOSED)
def edit_grid(
    season: Season, grid: Grid, entry: GridEntry, *, seen_version: int | None = None
) -> Grid:
    row = _standing_grid(season, grid, seen_version)
    changed = entry.onto(row)
    if set(changed) - {"name"}:
        if grid_bears_evidence(row):
            raise Refused(
                _(
                    "Work is recorded on this grid, so only its name may change. Plan a new grid "
                    "if it was laid anew."
                )
            )
        row.clean_fields()
        _demand_labels(row, row.squares.standing().values_list("column", "row"))
    return save_in_words(row) if changed else row


@verb(May.DIRECT, UNTIL_FIELDWORK_CLOSED)
def add_squares(season: Season, grid: Grid, squares: Sequence[tuple[int, int]]) -> int:
    """Add the squares (column, row) that are not there yet; how many were added."""
    return _add(_standing_grid(season, grid), squares)


@verb(May.DIRECT, UNTIL_FIELDWORK_CLOSED)
def grow_grid(
    season: Season,
    grid: Grid,
    *,
    left: int = 0,
    right: int = 0,
    below: int = 0,
    above: int = 0,
    squares: Sequence[tuple[int, int]] = (),
) -> int:
    """Add whole columns and rows along the edges of what is there, and squares by themselves."""
    row = _standing_grid(season, grid)
    there = set(row.squares.standing().values_list("column", "row"))
    if not there:
        return _add(row, squares)
    columns, rows = [column for column, _row in there], [r for _column, r in there]
    across, up = range(min(columns), max(columns) + 1), range(min(rows), max(rows) + 1)
    edges = [
        (column, r)
        for column in range(across.start - left, across.stop + right)
        for r in range(up.start - below, up.stop + above)
        if column not in across or r not in up
    ]
    return _add(row, [*edges, *squares])


def _add(row: Grid, squares: Sequence[tuple[int, int]]) -> int:
    there = {(one.column, one.row): one for one in row.squares.select_for_update().order_by("pk")}
    wanted = sorted(set(squares))
    _demand_labels(row, wanted)
    if len({*there, *wanted}) > MOST_SQUARES:
        raise Refused(
            _("A grid takes at most %(most)d squares. Plan a second grid for the rest.")
            % {"most": MOST_SQUARES}
        )
    returned = [there[at] for at in wanted if at in there and there[at].is_voided]
    for square in returned:
        restore(square)
    new = [
        Square(grid=row, column=column, row=r, made_by=acting_account())
        for column, r in wanted
        if (column, r) not in there
    ]
    if new:
        bulk_create_with_history(new, Square, default_user=acting_account())
    return len(new) + len(returned)


@verb(May.DIRECT, UNTIL_FIELDWORK_CLOSED)
def take_out_squares(season: Season, grid: Grid, squares: Sequence[Square], reason: str) -> int:
    """Void squares of a grid in which nothing is wanted and nothing recorded."""
    _standing_grid(season, grid)
    rows = list(
        Square.objects.standing()
        .select_for_update()
        .filter(grid=grid, pk__in=[square.pk for square in squares])
        .order_by("pk")
    )
    in_use = SquareGoal.objects.standing().filter(square__in=rows).exists()
    if in_use or squares_bear_evidence(rows):
        raise Refused(
            _("Something is wanted or recorded in these squares, so they stay in the grid."),
            field="squares",
        )
    for row in rows:
        void(row, reason)
    return len(rows)


@verb(May.DIRECT, UNTIL_FIELDWORK_CLOSED)
def void_grid(season: Season, grid: Grid, reason: str) -> Grid:
    """For a grid planned by mistake: nothing is wanted and nothing recorded on it."""
    row = _standing_grid(season, grid)
    if SquareGoal.objects.standing().filter(square__grid=row).exists() or grid_bears_evidence(row):
        raise Refused(_("Something is wanted or recorded on this grid, so it stays."))
    void(row, reason)
    return row


def _standing_grid(season: Season, grid: Grid, seen_version: int | None = None) -> Grid:
    row = current(Grid, grid.pk, seen_version)
    if row.site_id != season.site_id:
        raise Refused(_("This grid belongs to another site."))
    if row.is_voided:
        raise Refused(_("This grid is void: %(reason)s") % {"reason": row.void_reason})
    return row


def _demand_labels(grid: Grid, squares: Iterable[tuple[int, int]]) -> None:
    for column, row in squares:
        grid.demand_label(column, row)
