"""One square through time: its state in every stage of every season, and its neighbours."""

from dataclasses import dataclass

from records.models import Grid, Method, Season, Square, SquareGoal, Stage
from records.queries.evidence import State
from records.queries.sources import EvidenceBySquare, evidence_of
from records.queries.squares import SquareState, grids_of
from records.refusals import Refused


def square_at(season: Season, grid_code: str, place: str) -> Square | None:
    """The standing square of "K7" or "3,-1" (column, row) on a grid of the season's site."""
    grid = next((one for one in grids_of(season.site) if one.code == grid_code), None)
    at = _column_and_row(grid, place) if grid else None
    if grid is None or at is None:
        return None
    square = Square.objects.standing().filter(grid=grid, column=at[0], row=at[1]).first()
    if square is not None:
        square.grid = grid
    return square


def _column_and_row(grid: Grid, place: str) -> tuple[int, int] | None:
    try:
        column, row = (int(part) for part in place.split(","))
    except ValueError:
        try:
            return grid.square_for_label(place)
        except Refused:
            return None
    return column, row


def surfaces_of(square: Square, season: Season, asked: Stage | None = None) -> list[SquareState]:
    """In each stage in which something is wanted of it or recorded there; the oldest first.

    The stage that is `asked` for is among them in any case.
    """
    stages = (
        Stage.objects.standing()
        .filter(season__site=season.site_id, season__voided_at=None)
        .select_related("season")
        .order_by("season__starts_on", "season__code", "order")
    )
    goals = {one.stage_id: one for one in SquareGoal.objects.standing().filter(square=square)}
    evidence = evidence_of(None, Square.objects.filter(pk=square.pk))
    states = [state_in(square, one, goals.get(one.pk), evidence) for one in stages]
    return [one for one in states if one.goal or one.stage == asked or _is_recorded(one)]


def state_in(
    square: Square, stage: Stage | None, goal: SquareGoal | None, evidence: EvidenceBySquare
) -> SquareState:
    return SquareState(
        id=square.pk,
        grid=square.grid,
        column=square.column,
        row=square.row,
        label=square.label,
        stage=stage,
        goal=goal,
        drawing=evidence.state(square.pk, stage, goal, Method.DRAWING),
        photographs=evidence.state(square.pk, stage, goal, Method.PHOTOGRAPHS),
        differs_by_m=evidence.differs_by_m(square.pk, stage),
    )


def _is_recorded(state: SquareState) -> bool:
    return any(
        one.state != State.NOT_WANTED or one.evidence.said is not None for one in state.methods
    )


def shown_of(
    surfaces: list[SquareState], square: Square, season: Season, asked: Stage | None
) -> SquareState:
    """The surface in the stage asked for, else the present one of the season: the latest that is
    open for the square, or where none is the latest with evidence of it."""
    here = [one for one in surfaces if one.stage and one.stage.season_id == season.pk]
    if asked is not None:
        return next(one for one in here if one.stage == asked)
    open_ones = [one for one in here if one.goal]
    nowhere = state_in(square, None, None, EvidenceBySquare(None, {}, set(), {}, {}, {}, {}))
    return (open_ones or here or [nowhere])[-1]


@dataclass(frozen=True)
class Neighbours:
    """The next squares along the row and the column as the square is seen, +y up; gaps in the
    grid are passed over. None where the grid ends."""

    left: str | None
    up: str | None
    down: str | None
    right: str | None


def neighbours_of(square: Square) -> Neighbours:
    """Their labels, without the grid's code."""
    standing = Square.objects.standing().filter(grid=square.grid)
    row = set(standing.filter(row=square.row).values_list("column", flat=True))
    column = set(standing.filter(column=square.column).values_list("row", flat=True))

    def label(at: tuple[int | None, int | None]) -> str | None:
        return None if None in at else square.grid.label_of(at[0] or 0, at[1] or 0)

    return Neighbours(
        left=label((max((c for c in row if c < square.column), default=None), square.row)),
        right=label((min((c for c in row if c > square.column), default=None), square.row)),
        up=label((square.column, min((r for r in column if r > square.row), default=None))),
        down=label((square.column, max((r for r in column if r < square.row), default=None))),
    )
