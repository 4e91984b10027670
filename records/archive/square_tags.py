"""Tags of squares, to be cut out and laid into them: a frame that shows one tells where it is."""

from collections.abc import Iterable
from typing import Any

from django.utils.translation import gettext as _

from records.archive.print_parts import code_svg, sheet_words, sheets_caution
from records.archive.typeset import typeset
from records.models import Grid, PhotoRun
from survey.errors import UnfitError
from survey.markers import MODULES, Kind
from survey.square_tags import SIDE_M, tag_number

A_PAGE = 6


def square_tags_pdf(run: PhotoRun) -> bytes:
    return typeset("square-tags.typ", square_tags_of(run))


def square_tags_of(run: PhotoRun) -> dict[str, Any]:
    """Of each square over which the tower stands, sorted, so that one is found in the pile."""
    under = {row.square_at(station) for row, station in run.stations}
    tags = list(_tags(run.grid, sorted(under)))
    return {
        "title": _("Square tags"),
        "sheets": [tags[n : n + A_PAGE] for n in range(0, len(tags), A_PAGE)],
        "code_mm": SIDE_M * 1000 * (MODULES + 2) / MODULES,  # with its white rim
        "words": sheet_words()
        | {
            "caution": sheets_caution(),
            "how": _("Lay it flat into its square, face up, any way round, not over a find."),
        },
    }


def _tags(grid: Grid, squares: Iterable[tuple[int, int]]) -> Iterable[dict[str, Any]]:
    for column, row in squares:
        number = tag_number(column, row)
        try:
            label = str(grid.label_of(column, row))
        except UnfitError:
            continue  # beyond the grid's labels
        yield {
            "label": label,
            "size": 40 if len(label) <= 5 else 26,
            "code": code_svg(Kind.SQUARE, number),
            "words": _("%(grid)s, square tag %(n)d") % {"grid": grid, "n": number},
        }
