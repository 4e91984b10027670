"""Which grid, stage and squares a plan page shows: read from its address, written into links."""

from dataclasses import dataclass, replace
from typing import Any
from urllib.parse import urlencode

from django.http import Http404, QueryDict
from django.utils.translation import gettext as _

from records.models import Grid, Season, Square, Stage
from records.queries.missing import FILTER_OF, FILTERS, Filter
from records.queries.squares import SquareState, grids_of, stages_of


@dataclass(frozen=True)
class Choice:
    """`stage` None: each square in its present stage. `at`: the square whose card is open."""

    grids: list[Grid]
    stages: list[Stage]
    grid: Grid | None = None
    stage: Stage | None = None
    only: Filter | None = None
    as_table: bool = False
    at: tuple[int, int] | None = None

    @property
    def query(self) -> str:
        """The address's question; what is usual is left out."""
        asked = {
            "grid": self.grid.code if self.grid and len(self.grids) > 1 else "",
            "stage": self.stage.order if self.stage else "",
            "only": self.only.key if self.only else "",
            "view": "table" if self.as_table else "",
            "at": f"{self.at[0]},{self.at[1]}" if self.at else "",
        }
        return "?" + urlencode({name: value for name, value in asked.items() if value != ""})

    def but(self, **changed: Any) -> str:
        return replace(self, **changed).query


@dataclass(frozen=True)
class Chip:
    words: str
    query: str
    is_current: bool
    number: int | None = None


def read_choice(season: Season, asked: QueryDict) -> Choice:
    """What is asked for is there, or the page is not found."""
    choice = Choice(grids_of(season.site), stages_of(season))
    if asked.get("grid") or choice.grids:
        choice = replace(choice, grid=_one(choice.grids, "code", asked.get("grid")))
    if order := asked.get("stage"):
        choice = replace(choice, stage=_one(choice.stages, "order", order))
    return replace(
        choice,
        only=FILTER_OF.get(asked.get("only", "")),
        as_table=asked.get("view") == "table",
        at=read_place(asked.get("at", "")),
    )


def _one(among: list[Any], name: str, value: str | None) -> Any:
    for one in among:
        if value is None or str(getattr(one, name)) == value:
            return one
    raise Http404


def read_place(text: str) -> tuple[int, int] | None:
    """Column and row of "3,-1"; None where the text is none."""
    try:
        column, row = (int(part) for part in text.split(","))
    except ValueError:
        return None
    return column, row


def query_of(square: Square) -> str:
    """The plan on which this square's card is open."""
    return "?" + urlencode({"grid": square.grid.code, "at": f"{square.column},{square.row}"})


def grid_chips(choice: Choice) -> list[Chip]:
    if len(choice.grids) < 2:
        return []
    return [
        Chip(f"{grid.code} · {grid.name}", choice.but(grid=grid, at=None), grid == choice.grid)
        for grid in choice.grids
    ]


def stage_chips(choice: Choice) -> list[Chip]:
    now = Chip(_("present stage"), choice.but(stage=None), choice.stage is None)
    return [
        now,
        *(
            Chip(stage.name, choice.but(stage=stage), stage == choice.stage)
            for stage in choice.stages
        ),
    ]


def filter_chips(choice: Choice, states: list[SquareState]) -> list[Chip]:
    """All squares, then each question that some square answers, with how many do."""
    chips = [Chip(_("all squares"), choice.but(only=None), choice.only is None, len(states))]
    for one in FILTERS:
        number = sum(one.picks(state) for state in states)
        if number or one == choice.only:
            chips.append(Chip(str(one.words), choice.but(only=one), one == choice.only, number))
    return chips
