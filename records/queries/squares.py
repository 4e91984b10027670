"""Squares as pages ask for them: found by label, and the state of each by its evidence."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from uuid import UUID

from django.db.models import Count
from django.utils.translation import gettext as _

from records.models import Grid, Method, Season, Site, Square, SquareGoal, Stage
from records.queries.evidence import MethodState, State
from records.queries.sources import evidence_of, goals_of
from records.refusals import Refused
from records.templatetags.textures import Evidence as Texture


def grids_of(site: Site) -> list[Grid]:
    """The standing grids, the first planned first."""
    grids = list(Grid.objects.standing().filter(site=site).order_by("made_at", "code"))
    for grid in grids:
        grid.is_one_of_several = len(grids) > 1
    return grids


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


def squares_in(grid: Grid, text: str) -> list[Square]:
    """The standing squares named by "K7–N10, P3"; Refused where one is not in the grid."""
    named = grid.squares_named(text)
    there = {(one.column, one.row): one for one in Square.objects.standing().filter(grid=grid)}
    absent = [at for at in named if at not in there]
    if absent:
        labels = ", ".join(grid.label_of(*at) for at in absent[:6])
        raise Refused(
            _("Not in this grid: %(labels)s. Look at the plan, or let the director add squares.")
            % {"labels": labels if len(absent) <= 6 else f"{labels} …"}
        )
    squares = [there[at] for at in named]
    for square in squares:
        square.grid = grid
    return squares


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
    differs_by_m: float | None = None
    """Drawing and photograph, where that is beyond the season's limit."""

    @property
    def place(self) -> str:
        """The label without its grid's code, as the address of the square's page has it."""
        return self.grid.label_of(self.column, self.row)

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
    def second_look(self) -> str:
        """Why somebody should look again, or nothing."""
        if self.differs_by_m is None:
            return ""
        return _("Look again: drawing and photograph differ by %(mm)s mm.") % {
            "mm": round(self.differs_by_m * 1000)
        }

    @property
    def texture(self) -> Texture:
        return Texture(
            drawn=_TEXTURE_OF[self.drawing.state],
            photographed=_TEXTURE_OF[self.photographs.state],
            photo_fraction=self.photographs.evidence.covered_fraction,
            said_drawn=self.drawing.state == State.SAID_DONE,
            said_photographed=self.photographs.state == State.SAID_DONE,
            drawing_exception=self.drawing.exception_words,
            photo_exception=self.photographs.exception_words,
            drawing_waits=self.drawing.waits,
            photographs_wait=self.photographs.waits,
        )

    @property
    def words_alone(self) -> str:
        return _("%(drawing)s; %(photographs)s") % {
            "drawing": self.drawing.words,
            "photographs": self.photographs.words,
        }

    @property
    def words(self) -> str:
        return f"{self.label}: {self.words_alone}"


_TEXTURE_OF = {
    State.NOT_WANTED: "none",
    State.WANTED: "wanted",
    State.SAID_DONE: "wanted",
    State.BEGUN: "begun",
    State.WAITING: "waiting",
    State.SENT_BACK: "sent_back",
    State.DONE: "done",
    State.EXCEPTION: "none",
}


def states_of(
    season: Season,
    grids: list[Grid],
    stage: Stage | None = None,
    *,
    at: tuple[int, int] | None = None,
) -> list[SquareState]:
    """The squares of the grids, or the one `at` a column and row, in `stage` or the present one.

    The present stage of a square is the latest that is open for it. A constant number of
    queries, whatever the number of squares.
    """
    by_id = {grid.pk: grid for grid in grids}
    squares = Square.objects.standing().filter(grid__in=grids)
    if at is not None:
        squares = squares.filter(column=at[0], row=at[1])
    goals = goals_of(season, squares, stage)
    evidence = evidence_of(season, squares)
    squares = squares.order_by("grid__code", "column", "row")
    states = []
    for pk, grid_id, column, row in squares.values_list("pk", "grid_id", "column", "row"):
        goal = goals.get(pk)
        surface = goal.stage if goal else stage
        states.append(
            SquareState(
                id=pk,
                grid=by_id[grid_id],
                column=column,
                row=row,
                label=by_id[grid_id].label_of(
                    column, row, with_code=by_id[grid_id].is_one_of_several
                ),
                stage=surface,
                goal=goal,
                drawing=evidence.state(pk, surface, goal, Method.DRAWING),
                photographs=evidence.state(pk, surface, goal, Method.PHOTOGRAPHS),
                differs_by_m=evidence.differs_by_m(pk, surface),
            )
        )
    return states


def state_of_goal(goal: SquareGoal) -> SquareState:
    """One square in the stage of the goal."""
    square = goal.square
    at = (square.column, square.row)
    return states_of(goal.stage.season, [square.grid], goal.stage, at=at)[0]


@dataclass(frozen=True)
class GridCounted:
    grid: Grid
    squares: int


def grids_counted(site: Site) -> list[GridCounted]:
    counted = Square.objects.standing().filter(grid__site=site).values_list("grid")
    numbers = dict(counted.annotate(n=Count("pk")).order_by())
    return [GridCounted(grid, numbers.get(grid.pk, 0)) for grid in grids_of(site)]
