"""Squares as pages ask for them: found by label, and the state of each by its evidence."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from uuid import UUID

from django.utils.translation import gettext as _

from records.models import Grid, Method, Season, Site, Square, SquareGoal, Stage
from records.queries.evidence import MethodState, State
from records.queries.sources import evidence_of, goals_of
from records.refusals import Refused


def grids_of(site: Site) -> list[Grid]:
    return list(Grid.objects.standing().filter(site=site))


def stages_of(season: Season) -> list[Stage]:
    return list(Stage.objects.standing().filter(season=season))


def find_square(site: Site, text: str) -> Square:
    """The square that a person means by "K7" or, among several grids, "bow K7".

    Refused in words where the text is no label, the square is not there, or several fit.
    """
    grids = grids_of(site)
    found = list(_squares_called(text, grids))
    if len(found) == 1:
        return found[0]
    if found:
        labels = ", ".join(square.label for square in found)
        raise Refused(
            _("Several grids have a square %(typed)s. Say which: %(labels)s.")
            % {"typed": text.strip(), "labels": labels}
        )
    if len(grids) == 1:
        grids[0].square_for_label(text)  # says what is wrong with the label, if anything is
    raise Refused(
        _("“%(typed)s” is no square of this site. Look at the plan for those that are there.")
        % {"typed": text.strip()}
    )


def _squares_called(text: str, grids: list[Grid]) -> Iterable[Square]:
    for grid in grids:
        try:
            column, row = grid.square_for_label(text)
        except Refused:
            continue
        squares = Square.objects.standing().filter(grid=grid, column=column, row=row)
        yield from squares.labelled()


@dataclass(frozen=True)
class SquareState:
    """One square in one stage (None: no stage is open for it), by its evidence."""

    id: UUID
    grid: Grid = field(repr=False)
    column: int
    row: int
    label: str
    stage: Stage | None
    goal: SquareGoal | None
    drawing: MethodState
    photographs: MethodState

    @property
    def methods(self) -> tuple[MethodState, MethodState]:
        return self.drawing, self.photographs

    @property
    def is_wanted(self) -> bool:
        return any(one.evidence.wanted for one in self.methods)

    @property
    def missing(self) -> str:
        """`drawing`, `photographs`, `both`, or empty where nothing is missing."""
        drawing, photographs = (one.is_missing for one in self.methods)
        if drawing and photographs:
            return "both"
        return "drawing" if drawing else "photographs" if photographs else ""

    @property
    def has_exception(self) -> bool:
        return any(one.state == State.EXCEPTION for one in self.methods)

    @property
    def is_said_done(self) -> bool:
        return any(one.state == State.SAID_DONE for one in self.methods)

    @property
    def asks_the_lead(self) -> bool:
        return any(one.asks_the_lead for one in self.methods)

    @property
    def is_recorded(self) -> bool:
        """All that is wanted is there by evidence, nothing by exception."""
        wanted = [one for one in self.methods if one.evidence.wanted]
        return bool(wanted) and all(one.state == State.DONE for one in wanted)

    @property
    def words(self) -> str:
        return _("%(label)s: %(drawing)s; %(photographs)s") % {
            "label": self.label,
            "drawing": self.drawing.words,
            "photographs": self.photographs.words,
        }


def states_of(season: Season, grids: list[Grid], stage: Stage | None = None) -> list[SquareState]:
    """The squares of the grids, by column and row, each in `stage` or in its present one.

    The present stage of a square is the latest that is open for it. A constant number of
    queries, whatever the number of squares.
    """
    goals = goals_of(season, grids, stage)
    evidence = evidence_of(season, grids)
    by_id = {grid.pk: grid for grid in grids}
    squares = (
        Square.objects.standing().filter(grid__in=grids).order_by("grid__code", "column", "row")
    )
    several = len(grids) > 1 or any(grid.is_one_of_several for grid in grids)
    states = []
    for pk, grid_id, column, row in squares.values_list("pk", "grid_id", "column", "row"):
        goal = goals.get(pk)
        at = goal.stage if goal else stage
        states.append(
            SquareState(
                id=pk,
                grid=by_id[grid_id],
                column=column,
                row=row,
                label=by_id[grid_id].label_of(column, row, with_code=several),
                stage=at,
                goal=goal,
                drawing=evidence.state(pk, at, goal, Method.DRAWING),
                photographs=evidence.state(pk, at, goal, Method.PHOTOGRAPHS),
            )
        )
    return states
