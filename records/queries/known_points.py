"""Points of a grid that people know by a name: the corners of its squares, finds with a fix."""

import re
from collections.abc import Iterable, Mapping
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from records.models import Fix, Grid, Season, Square
from records.queries.finds import finds_seen
from records.refusals import Refused

Point = tuple[float, float]

# Each with how many sides of the square it lies from the corner nearest −x −y; upper ones first.
CORNERS: Mapping[str, tuple[Any, tuple[int, int]]] = {
    "upper left": (gettext_lazy("upper left"), (0, 1)),
    "upper right": (gettext_lazy("upper right"), (1, 1)),
    "lower left": (gettext_lazy("lower left"), (0, 0)),
    "lower right": (gettext_lazy("lower right"), (1, 0)),
}
_APART = re.compile(r"[,;\s]+")


class KnownPoints:
    """Looks names up on one grid; the finds are asked for once, and only if one is named."""

    def __init__(self, grid: Grid, season: Season) -> None:
        self.grid, self.season = grid, season
        self._fixes: dict[int, Point] | None = None

    def at(self, name: str) -> Point:
        """x, y in m of "K7 lower left" or "find 12"; Refused in words."""
        if (n := self._find_number(name)) is not None:
            return self._find(n)
        for words, steps in CORNERS.values():
            label = _before(name, str(words))
            if label:
                return self._corner(label, steps)
        raise Refused(
            _(
                "“%(typed)s” is no known point. Write a square's corner, like “%(corner)s”, or a "
                "find that has a position, like “%(find)s”; or give x and y."
            )
            % {"typed": name, "corner": self._example(), "find": _("find %(n)s") % {"n": 12}}
        )

    def named(self, text: str) -> list[str]:
        """The points meant by "K7 L7" or "find 12": the corners of squares, each point once."""
        names: list[str] = []
        finds = [int(n) for n in re.findall(self._find_pattern(), text, re.IGNORECASE)]
        rest = re.sub(self._find_pattern(), " ", text, flags=re.IGNORECASE)
        for n in finds:
            self._find(n)
            names.append(_("find %(n)s") % {"n": n})
        for column, row in self._squares(rest):
            names += self.corners_of(column, row)
        return self.once(names)

    def corners_of(self, column: int, row: int) -> list[str]:
        label = self.grid.label_of(column, row)
        return [f"{label} {words}" for words, _steps in CORNERS.values()]

    def once(self, names: Iterable[str], known: Iterable[Point] = ()) -> list[str]:
        """Neighbouring squares share corners: those that lie on another are left out."""
        seen, kept = {_rounded(point) for point in known}, []
        for name in names:
            place = _rounded(self.at(name))
            if place not in seen:
                seen.add(place)
                kept.append(name)
        return kept

    def _squares(self, text: str) -> list[tuple[int, int]]:
        labels = [part for part in _APART.split(text) if part]
        return [one for label in labels for one in self.grid.squares_named(label)]

    def _corner(self, label: str, steps: tuple[int, int]) -> Point:
        column, row = self.grid.square_for_label(label)
        side_m = self.grid.side_m
        return (column + steps[0]) * side_m, (row + steps[1]) * side_m

    def _example(self) -> str:
        square = Square.objects.standing().filter(grid=self.grid).order_by("column", "row").first()
        column, row = (square.column, square.row) if square else (0, 0)
        return self.corners_of(column, row)[2]

    def _find_pattern(self) -> str:
        words = {"find", str(_("find %(n)s") % {"n": ""}).strip().casefold()}
        return r"\b(?:{})\s*-?\s*(\d+)\b".format("|".join(map(re.escape, sorted(words))))

    def _find_number(self, name: str) -> int | None:
        found = re.search(self._find_pattern() + r"\s*$", name.strip(), re.IGNORECASE)
        return int(found[1]) if found else None

    def _find(self, n: int) -> Point:
        if self._fixes is None:
            self._fixes = self._fixed_finds()
        if n not in self._fixes:
            raise Refused(
                _("Find %(n)s has no position on this grid, or its position may not be told here.")
                % {"n": n}
            )
        return self._fixes[n]

    def _fixed_finds(self) -> dict[int, Point]:
        """Never those that are restricted: the photograph's page would tell where they lie."""
        finds: Any = finds_seen(self.season, may_lead=False).filter(voided_at=None)
        fixes = Fix.objects.standing().filter(grid=self.grid, find__in=finds)
        return {n: (x, y) for n, x, y in fixes.values_list("find__n", "x_m", "y_m")}


def _before(name: str, ending: str) -> str:
    """What stands before the words for a corner, or nothing."""
    text = " ".join(name.split()).casefold()
    if not text.endswith(ending.casefold()):
        return ""
    return text[: -len(ending)].strip(" ,;:·")


def _rounded(point: Point) -> Point:
    return round(point[0], 3), round(point[1], 3)
