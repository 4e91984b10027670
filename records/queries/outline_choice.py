"""Which traced features are shown: of a grid; of one stage or all; on one square or all."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from records.models import Grid, Outline, Season, Square, Stage
from records.queries.outlines import across, outlines_of
from records.queries.square_surfaces import square_at
from records.queries.squares import grids_of, stages_of


@dataclass(frozen=True)
class OutlineChoice:
    season: Season
    grids: list[Grid]
    stages: list[Stage]
    grid: Grid | None
    stage: Stage | None = None
    square: Square | None = None

    def query(self, **changed: Any) -> dict[str, Any]:
        """What an address says to have the same, changed in this or that."""
        said = {"grid": self.grid, "stage": self.stage, "square": self.square} | changed
        told = {
            "grid": said["grid"].code if said["grid"] else "",
            "stage": said["stage"].order if said["stage"] else "",
            "square": said["square"].place if said["square"] else "",
        }
        return {name: value for name, value in told.items() if value != ""}

    @property
    def title(self) -> str:
        what = self.square.label if self.square else str(self.grid)
        words = _("Features on %(what)s") % {"what": what}
        return f"{words}, {self.stage}" if self.stage else words

    @property
    def name(self) -> str:
        """Of a file."""
        place = self.square.place.replace("/", "-") if self.square else ""
        stage = f"stage{self.stage.order}" if self.stage else ""
        code = self.grid.code if self.grid else ""
        parts = [self.season.code, "features", code, place, stage]
        return "-".join(part for part in parts if part)

    def outlines(self, *, void: bool = False) -> list[Outline]:
        found = list(outlines_of(self.season, self.grid, self.stage, void=void))
        return across(self.square, found) if self.square else found

    def squares(self, outlines: list[Outline]) -> list[Square]:
        """Those that a sheet shows: the one asked for and what its features run across, else the
        grid's."""
        of_grid = list(Square.objects.standing().filter(grid=self.grid).labelled())
        if self.square is None:
            return of_grid
        under = {at for one in outlines for at in one.squares_under}
        under.add((self.square.column, self.square.row))
        return [one for one in of_grid if (one.column, one.row) in under]


def read_outline_choice(season: Season, asked: Mapping[str, str]) -> OutlineChoice | None:
    """The first grid where none is asked for; None where what is asked for is not there."""
    grids, stages = grids_of(season.site), stages_of(season)
    code, order, place = (asked.get(name, "") for name in ("grid", "stage", "square"))
    grid = next((one for one in grids if code in ("", one.code)), None)
    stage = next((one for one in stages if str(one.order) == order), None)
    square = square_at(season, grid.code, place) if grid and place else None
    if (code and not grid) or (order and not stage) or (place and not square):
        return None
    return OutlineChoice(season, grids, stages, grid, stage, square)
