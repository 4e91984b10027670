"""Squares as people write them: "K7", "K7 L7", "K7-U7", among several grids "bow K7 L7"."""

import re
from collections.abc import Iterable
from uuid import UUID

from django.utils.translation import gettext as _

from records.models import Grid, Season, Site, Square, SquareGoal, Stage
from records.queries.squares import grids_of, stages_of
from records.refusals import Refused

Place = tuple[int, int]
_APART = re.compile(r"[,;\s]+")
_DASH = re.compile(r"\s+[-–:]\s+")
MOST = 200


def squares_meant(site: Site, text: str) -> list[Square]:
    """The squares of a text, in its order, a block by column and row; Refused in words."""
    grids = grids_of(site)
    among: list[Grid] = grids
    found: dict[UUID, Square] = {}
    for word in _words(text):
        named = [grid for grid in grids if grid.code.casefold() == word.casefold()]
        if named:
            among = named
            continue
        found |= {square.pk: square for square in _of_word(word, among)}
    if not found:
        raise Refused(_("“%(typed)s” names no square.") % {"typed": text.strip()})
    if len(found) > MOST:
        raise Refused(_("These are %(count)s squares; name fewer.") % {"count": len(found)})
    return list(found.values())


def _words(text: str) -> list[str]:
    return [word for word in _APART.split(_DASH.sub("-", text.strip())) if word]


def _of_word(word: str, grids: list[Grid]) -> list[Square]:
    """The squares of one word on the only grid that has any."""
    per_grid = [(grid, places) for grid in grids if (places := _places(grid, word))]
    squares = [standing for grid, places in per_grid if (standing := _standing(grid, places))]
    if len(squares) == 1:
        return squares[0]
    if squares:
        labels = ", ".join(one[0].label for one in squares)
        raise Refused(
            _("Several grids have a square %(typed)s. Say which: %(labels)s.")
            % {"typed": word, "labels": labels}
        )
    if len(grids) == 1 and not per_grid:
        grids[0].squares_named(word)  # says what is wrong with the label
    raise Refused(
        _("“%(typed)s” is no square of this site. Look at the plan for those that are there.")
        % {"typed": word}
    )


def _places(grid: Grid, word: str) -> list[Place]:
    try:
        return grid.squares_named(word)
    except Refused:
        return []


def _standing(grid: Grid, places: Iterable[Place]) -> list[Square]:
    wanted = set(places)
    columns, rows = {place[0] for place in wanted}, {place[1] for place in wanted}
    squares = Square.objects.standing().filter(grid=grid, column__in=columns, row__in=rows)
    return [one for one in squares.labelled() if (one.column, one.row) in wanted]


def told_squares(squares: Iterable[Square]) -> str:
    """`K7 L7`, among several grids `bow K7 L7 stern A1`: as `squares_meant` reads them."""
    told: list[str] = []
    code = ""
    for square in squares:
        before, _blank, label = square.label.rpartition(" ")
        told += [label] if before in ("", code) else [before, label]
        code = before
    return " ".join(told)


def present_stages(season: Season, squares: Iterable[Square]) -> dict[UUID, Stage]:
    """The latest stage that is open for each square; those without an open stage are missing."""
    goals = SquareGoal.objects.standing().filter(
        square__in=list(squares), stage__season=season, stage__voided_at=None
    )
    return {
        goal.square_id: goal.stage
        for goal in goals.select_related("stage").order_by("stage__order")
    }


def stage_meant(season: Season, square: Square, order: str) -> Stage | None:
    """The stage that an address names by its order, else the square's present one, else the
    season's last; None where there is none."""
    stages = stages_of(season)
    if order.isdecimal():
        return next((one for one in stages if str(one.order) == order), None)
    present = present_stages(season, [square]).get(square.pk)
    return present or (stages[-1] if stages else None)


def stages_open_for_all(season: Season, squares: Iterable[Square]) -> list[Stage]:
    """The stages that are open for each of these squares, the latest first."""
    wanted = {one.pk for one in squares}
    goals = SquareGoal.objects.standing().filter(square__in=wanted, stage__season=season)
    open_for: dict[UUID, set[UUID]] = {}
    for goal in goals:
        open_for.setdefault(goal.stage_id, set()).add(goal.square_id)
    stages = Stage.objects.standing().filter(season=season).order_by("-order")
    return [one for one in stages if open_for.get(one.pk) == wanted]


def open_squares(season: Season) -> list[Square]:
    """The squares with an open stage, by column and row."""
    goals = SquareGoal.objects.standing().filter(stage__season=season, stage__voided_at=None)
    squares = Square.objects.standing().filter(pk__in=goals.values("square"))
    return list(squares.labelled().order_by("grid__code", "column", "row"))
