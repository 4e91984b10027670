"""A grid: a plane of squares on the site, and how it calls them."""

import re
from functools import cached_property, lru_cache

from django.core.exceptions import NON_FIELD_ERRORS, ValidationError
from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from records.models.base import Record, kept_history
from records.refusals import Refused, in_words
from survey import grid as survey_grid
from survey.errors import Unfit, UnfitError
from survey.grid import GridFrame

MOST_SQUARES = 5_000
"""Of one grid, and of one block that is named: more is a slip of the finger."""


class LabelStyle(models.TextChoices):
    LETTERS = "letters", _("letters and number, like K7")
    CORNER = "corner", _("south-west corner in metres, like 104/212")


class Grid(Record):
    """A plane of squares on the site; frozen once evidence exists on it."""

    site = models.ForeignKey("records.Site", on_delete=models.PROTECT, related_name="grids")
    code = models.SlugField(_("short code"), max_length=12)
    name = models.CharField(_("name of the grid"), max_length=80)
    origin_e_m = models.FloatField(_("origin peg E"), default=0)
    origin_n_m = models.FloatField(_("origin peg N"), default=0)
    origin_z_m = models.FloatField(_("origin peg Z, up"), default=0)
    bearing_deg = models.FloatField(_("bearing of the rows, from site north"), default=0)
    slope_deg = models.FloatField(
        _("slope"),
        default=0,
        help_text=_("0 lies flat (a plan), 90 stands upright (an elevation)."),
    )
    side_m = models.FloatField(
        _("side of a square"), default=1, validators=[MinValueValidator(0.1)]
    )
    label_style = models.CharField(
        _("labels"), max_length=8, choices=LabelStyle.choices, default=LabelStyle.LETTERS
    )
    first_column = models.CharField(_("label of column 0"), max_length=8, default="A")
    first_row = models.CharField(_("label of row 0"), max_length=8, default="1")
    skip_i_and_o = models.BooleanField(_("skip the letters I and O"), default=False)

    history = kept_history()

    class Meta(Record.Meta):
        ordering = ["code"]
        constraints = [
            *Record.Meta.constraints,
            models.UniqueConstraint(
                fields=["site", "code"],
                name="grid_code_once_in_site",
                violation_error_message=_("Another grid of this site has this code."),
            ),
            models.CheckConstraint(
                name="grid_slope_in_range",
                condition=Q(slope_deg__gt=-90, slope_deg__lte=90),
                violation_error_message=_("A slope lies above −90° and at most at 90°."),
            ),
            models.CheckConstraint(name="grid_side_positive", condition=Q(side_m__gt=0)),
        ]

    def __str__(self) -> str:
        return self.name

    def clean(self) -> None:
        try:
            self.frame  # noqa: B018 - its making is the check
        except UnfitError as error:
            field = _FIELD_OF.get(error.unfit.code, NON_FIELD_ERRORS)
            raise ValidationError({field: in_words(error.unfit)}) from error

    @property
    def frame(self) -> GridFrame:
        """How the grid lies in its site, for computing; raises UnfitError."""
        return _frame(
            (self.origin_e_m, self.origin_n_m, self.origin_z_m),
            self.bearing_deg,
            self.slope_deg,
            self.side_m,
            (self.label_style, self.first_column, self.first_row, self.skip_i_and_o),
        )

    @property
    def in_site(self) -> dict[str, list[float]]:
        """Its origin and the directions of its x and y in the site, E, N, Z: a secret position."""
        x, y, _off = survey_grid.axes(self.frame).tolist()
        return {"origin": [self.origin_e_m, self.origin_n_m, self.origin_z_m], "x": x, "y": y}

    @property
    def is_upright(self) -> bool:
        """More a wall than a floor: seen from the front, not from above."""
        return abs(self.slope_deg) > 45

    @property
    def arrow_turn_deg(self) -> float:
        """Clockwise from up on a page that shows it, +y up: to what is up in the sea on a wall,
        else to site north as it falls on the plane."""
        wanted = (0.0, 0.0, 1.0) if self.is_upright else (0.0, 1.0, 0.0)
        return survey_grid.turn_on_page_deg(self.frame, wanted)

    @cached_property
    def is_one_of_several(self) -> bool:
        """Whether the site has other grids, so that labels bear this one's code."""
        others = Grid.objects.standing().filter(site=self.site_id).exclude(pk=self.pk)
        return others.exists()

    def label_of(self, column: int, row: int, *, with_code: bool = False) -> str:
        label = survey_grid.label_of(self.frame, column, row)
        return f"{self.code} {label}" if with_code else label

    def edge_labels_of(self, column: int, row: int) -> tuple[str, str]:
        """What stands for this square along the edges of a plan: its column's and row's part."""
        label = self.label_of(column, row)
        if self.label_style == LabelStyle.CORNER:
            across, _stroke, up = label.partition("/")
            return across, up
        letters = label.rstrip("0123456789")
        return letters, label.removeprefix(letters)

    def demand_label(self, column: int, row: int) -> None:
        """Refuse, in words, a square so far out that it could bear no label."""
        problem = survey_grid.why_no_label(self.frame, column, row)
        if problem is not None:
            raise Refused(in_words(problem))

    def square_for_label(self, text: str) -> tuple[int, int]:
        """Column and row of "K7", typed with or without the grid's code; Refused in words."""
        square = survey_grid.square_of_label(self.frame, text)
        code, _blank, rest = text.strip().partition(" ")
        if isinstance(square, Unfit) and rest and code.casefold() == self.code.casefold():
            square = survey_grid.square_of_label(self.frame, rest)
        if isinstance(square, Unfit):
            raise Refused(in_words(square))
        return square.column, square.row

    def squares_named(self, text: str) -> list[tuple[int, int]]:
        """Columns and rows meant by "K7–N10, P3": labels and blocks, sorted, each once.

        Refused in words where a part is neither, or too many squares are meant. The squares need
        not exist yet.
        """
        parts = [part.strip() for part in re.split(r"[,;\n]", text) if part.strip()]
        if not parts:
            raise Refused(gettext("Name the squares: K7, or K7–N10 for a block."))
        return sorted({square for part in parts for square in self._block(part)})

    def _block(self, text: str) -> list[tuple[int, int]]:
        one, other = self._ends_of_block(text)
        if (abs(one[0] - other[0]) + 1) * (abs(one[1] - other[1]) + 1) > MOST_SQUARES:
            raise Refused(
                gettext("“%(typed)s” is more than %(most)d squares. Name a smaller block.")
                % {"typed": text, "most": MOST_SQUARES}
            )
        return [(s.column, s.row) for s in survey_grid.squares_in_block(one, other)]

    def _ends_of_block(self, text: str) -> tuple[tuple[int, int], tuple[int, int]]:
        try:
            one = self.square_for_label(text)
        except Refused as refusal:
            for dash in re.finditer(r"[-–—]|\s+to\s+", text):
                try:
                    return (
                        self.square_for_label(text[: dash.start()]),
                        self.square_for_label(text[dash.end() :]),
                    )
                except Refused:
                    continue  # a dash may also stand within a label
            raise refusal
        return one, one


@lru_cache(maxsize=64)
def _frame(
    origin_m: tuple[float, float, float],
    bearing_deg: float,
    slope_deg: float,
    side_m: float,
    labels: tuple[str, str, str, bool],
) -> GridFrame:
    kind, first_column, first_row, skip_i_and_o = labels
    style = survey_grid.LabelStyle(
        survey_grid.LabelKind(kind), first_column, first_row, skip_i_and_o
    )
    return GridFrame(*origin_m, bearing_deg, slope_deg, side_m, style)


_FIELD_OF = {
    "slope": "slope_deg",
    "side": "side_m",
    "side-not-whole": "side_m",
    "first-column": "first_column",
    "first-row": "first_row",
    "first-corner": "first_column",
}
