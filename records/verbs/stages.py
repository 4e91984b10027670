"""Stages of a season, and what is wanted of its squares in each."""

from collections.abc import Sequence
from dataclasses import dataclass
from uuid import UUID, uuid4

from django.utils.translation import gettext as _
from simple_history.utils import bulk_create_with_history

from records.acting import acting_account
from records.models import Method, Season, Square, SquareException, SquareGoal, Stage
from records.permissions import May
from records.queries.frozen import square_bears_evidence_in, stage_bears_evidence
from records.refusals import Conflict, Refused
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
class GoalsSet:
    """How many squares a stage was opened for, and how many had their goal changed."""

    opened: int
    changed: int


@verb(May.LEAD, UNTIL_FIELDWORK_CLOSED)
def open_stage(season: Season, name: str, *, id: UUID | None = None) -> Stage:
    """A new stage after all others; it opens for a square with the square's goal."""
    id = id or uuid4()
    if (made := made_before(Stage, id)) is not None:
        return made
    last = Stage.objects.filter(season=season).order_by("-order").first()
    return save_in_words(
        Stage(id=id, season=season, name=name.strip(), order=last.order + 1 if last else 1)
    )


@verb(May.LEAD, UNTIL_FIELDWORK_CLOSED)
def rename_stage(stage: Stage, name: str, *, seen_version: int | None = None) -> Stage:
    row = _standing_stage(stage, seen_version)
    row.name = name.strip()
    return save_in_words(row)


@verb(May.LEAD, UNTIL_FIELDWORK_CLOSED)
def void_stage(stage: Stage, reason: str) -> Stage:
    """For a stage opened by mistake: open for no square, and nothing recorded in it."""
    row = _standing_stage(stage)
    if SquareGoal.objects.standing().filter(stage=row).exists() or stage_bears_evidence(row):
        raise Refused(_("This stage is open for squares or has work recorded in it, so it stays."))
    void(row, reason)
    return row


@verb(May.LEAD, UNTIL_FIELDWORK_CLOSED)
def set_goals(
    stage: Stage, squares: Sequence[Square], *, drawing_wanted: bool, photographs_wanted: bool
) -> GoalsSet:
    """Open the stage for a block of squares and say what is wanted of each, in one go."""
    _standing_stage(stage)
    _demand_of_site(stage.season, squares)
    wanted = {"drawing_wanted": drawing_wanted, "photographs_wanted": photographs_wanted}
    there = {
        goal.square_id: goal
        for goal in SquareGoal.objects.select_for_update().filter(stage=stage).order_by("pk")
    }
    known = [there[square.pk] for square in squares if square.pk in there]
    new = [
        SquareGoal(stage=stage, square=square, made_by=acting_account(), **wanted)
        for square in squares
        if square.pk not in there
    ]
    opened = len(new) + sum(goal.is_voided for goal in known)
    changed = sum(_set(goal, **wanted) for goal in known)
    if new:
        bulk_create_with_history(new, SquareGoal, default_user=acting_account())
    return GoalsSet(opened=opened, changed=changed)


def _set(goal: SquareGoal, *, drawing_wanted: bool, photographs_wanted: bool) -> bool:
    """Whether a goal that stood was changed; a voided one is opened again."""
    stood = not goal.is_voided
    same = (goal.drawing_wanted, goal.photographs_wanted) == (drawing_wanted, photographs_wanted)
    if stood and same:
        return False
    goal.drawing_wanted, goal.photographs_wanted = drawing_wanted, photographs_wanted
    if stood:
        goal.save()
    else:
        restore(goal)
    return stood


@verb(May.LEAD, UNTIL_FIELDWORK_CLOSED)
def change_goal(
    goal: SquareGoal,
    *,
    drawing_wanted: bool,
    photographs_wanted: bool,
    seen_version: int | None = None,
) -> SquareGoal:
    row = _standing_goal(goal, seen_version)
    _set(row, drawing_wanted=drawing_wanted, photographs_wanted=photographs_wanted)
    return row


@verb(May.LEAD, UNTIL_FIELDWORK_CLOSED)
def void_goal(goal: SquareGoal, reason: str) -> SquareGoal:
    """Close the stage for a square where it was opened by mistake."""
    row = _standing_goal(goal)
    if SquareException.objects.standing().filter(goal=row).exists():
        raise Refused(_("Take back the exception of this square first."))
    if square_bears_evidence_in(row.stage, row.square):
        raise Refused(
            _("Work is recorded on this square in this stage. Say that nothing more is wanted.")
        )
    void(row, reason)
    return row


@verb(May.LEAD, UNTIL_FIELDWORK_CLOSED)
def accept_exception(
    goal: SquareGoal, method: str, kind: str, reason: str, *, id: UUID | None = None
) -> SquareException:
    """The square will not be recorded by this method, and that is accepted, for this reason."""
    id = id or uuid4()
    if (made := made_before(SquareException, id)) is not None:
        return made
    row = _standing_goal(goal)
    if not (row.drawing_wanted if method == Method.DRAWING else row.photographs_wanted):
        raise Refused(
            _("Nothing of this kind is wanted of the square, so there is nothing to except.")
        )
    return save_in_words(
        SquareException(id=id, goal=row, method=method, kind=kind, reason=reason.strip())
    )


@verb(May.LEAD, UNTIL_FIELDWORK_CLOSED)
def accept_exceptions(
    stage: Stage, squares: Sequence[Square], method: str, kind: str, reason: str
) -> list[SquareException]:
    """The same for a block: those squares that want the method and have no exception yet."""
    _standing_stage(stage)
    wanted = {f"{method}_wanted": True}
    goals = (
        SquareGoal.objects.standing()
        .select_for_update()
        .filter(stage=stage, square__in=squares, **wanted)
        .order_by("pk")
    )
    excepted = SquareException.objects.standing().filter(goal__stage=stage, method=method)
    done = set(excepted.values_list("goal_id", flat=True))
    return [
        save_in_words(SquareException(goal=goal, method=method, kind=kind, reason=reason.strip()))
        for goal in goals
        if goal.pk not in done
    ]


@verb(May.LEAD, UNTIL_FIELDWORK_CLOSED)
def void_exception(exception: SquareException, reason: str) -> SquareException:
    """Take an exception back: the square wants this method again."""
    row = current(SquareException, exception.pk, None)
    void(row, reason)
    return row


def _standing_stage(stage: Stage, seen_version: int | None = None) -> Stage:
    row = current(Stage, stage.pk, seen_version)
    if row.is_voided:
        raise Conflict(_("This stage is void: %(reason)s") % {"reason": row.void_reason})
    return row


def _standing_goal(goal: SquareGoal, seen_version: int | None = None) -> SquareGoal:
    row = current(SquareGoal, goal.pk, seen_version)
    if row.is_voided:
        raise Conflict(_("The stage is no longer open for this square. Look at the plan again."))
    return row


def _demand_of_site(season: Season, squares: Sequence[Square]) -> None:
    grids = {square.grid_id: square.grid for square in squares}
    if any(grid.site_id != season.site_id for grid in grids.values()):
        raise Refused(_("These squares belong to another site."))
    if any(square.is_voided for square in squares):
        raise Refused(_("A square of this block is no longer in the grid. Look at the plan again."))
