"""Forms of grids, stages and goals. Squares are typed as labels and blocks: "K7–N10, P3"."""

from typing import Any, cast

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from records.forms.fields import (
    CountField,
    DegreesField,
    MetresField,
    RecordIdField,
    VersionField,
    WordsField,
)
from records.models import ExceptionKind, Grid, LabelStyle, Method, Site, Square
from records.queries.square_words import squares_meant
from records.queries.squares import squares_in
from records.refusals import Refused


def squares_typed(site: Site, text: str) -> list[Square]:
    """As `squares_meant`, refused beside the field in which they were typed."""
    try:
        return squares_meant(site, text)
    except Refused as refusal:
        raise ValidationError(refusal.words) from refusal


class BlockField(forms.CharField):
    """Labels and blocks of one grid; cleaned to columns and rows, or to squares that exist."""

    def __init__(self, grid: Grid | None = None, *, existing: bool = True, **options: Any) -> None:
        self.grid, self.existing = grid, existing
        options.setdefault("label", _("Squares"))
        options.setdefault(
            "help_text", _("One or several: K7, or K7–N10 for a block, with commas.")
        )
        options.setdefault(
            "widget", forms.TextInput(attrs={"data-block": True, "autocomplete": "off"})
        )
        super().__init__(**options)

    def clean(self, value: Any) -> Any:
        text = super().clean(value)
        if not text or self.grid is None:
            return []
        try:
            return squares_in(self.grid, text) if self.existing else self.grid.squares_named(text)
        except Refused as refusal:
            raise ValidationError(refusal.words) from refusal


class BlockForm(forms.Form):
    """A form about squares of the grid that is shown."""

    squares = BlockField()

    def __init__(self, *args: Any, grid: Grid | None, **options: Any) -> None:
        super().__init__(*args, **options)
        cast(BlockField, self.fields["squares"]).grid = grid


class GoalsForm(BlockForm):
    drawing_wanted = forms.BooleanField(
        label=_("A drawing is wanted"), required=False, initial=True
    )
    photographs_wanted = forms.BooleanField(
        label=_("Photographs are wanted"), required=False, initial=True
    )


class ExceptionsForm(BlockForm):
    method = forms.ChoiceField(
        label=_("Not to be recorded by"), choices=Method.choices, widget=forms.RadioSelect
    )
    kind = forms.ChoiceField(
        label=_("Why not"), choices=ExceptionKind.choices, widget=forms.RadioSelect
    )
    reason = WordsField(label=_("Reason, in words"), rows=2)


class GoalForm(forms.Form):
    drawing_wanted = forms.BooleanField(label=_("A drawing is wanted"), required=False)
    photographs_wanted = forms.BooleanField(label=_("Photographs are wanted"), required=False)
    version = VersionField()


class ExceptionForm(forms.Form):
    id = RecordIdField()
    method = forms.ChoiceField(
        label=_("Not to be recorded by"), choices=Method.choices, widget=forms.RadioSelect
    )
    kind = forms.ChoiceField(
        label=_("Why not"), choices=ExceptionKind.choices, widget=forms.RadioSelect
    )
    reason = WordsField(label=_("Reason, in words"), rows=2)


class ReasonForm(forms.Form):
    reason = WordsField(label=_("Reason"), rows=2)


class StageForm(forms.Form):
    id = RecordIdField()
    name = forms.CharField(
        label=_("Name of the stage"),
        max_length=60,
        help_text=_("For example: as found, cleaned, layer 1, after lifting."),
    )


class StageNameForm(forms.Form):
    name = forms.CharField(label=_("Name of the stage"), max_length=60)
    version = VersionField()


class GridForm(forms.Form):
    """Where the grid lies and what its squares are called."""

    code = forms.SlugField(
        label=_("Short code"),
        max_length=12,
        help_text=_("Stands before the labels where the site has several grids: bow K7."),
    )
    name = forms.CharField(label=_("Name of the grid"), max_length=80)
    side_m = MetresField(label=_("Side of a square"), initial=1, min_value=0.1, decimal_places=3)
    bearing_deg = DegreesField(
        label=_("Bearing of the rows"),
        initial=0,
        decimal_places=2,
        help_text=_(
            "Clockwise from site north, the level direction in which the row numbers rise; for a "
            "wall, the direction in which one looks at it."
        ),
    )
    slope_deg = DegreesField(
        label=_("Slope"),
        initial=0,
        decimal_places=2,
        min_value=-90,
        max_value=90,
        help_text=_("0 lies flat, 90 stands upright; positive where it rises along the rows."),
    )
    origin_e_m = MetresField(label=_("Origin peg, E"), initial=0, min_value=None, decimal_places=3)
    origin_n_m = MetresField(label=_("Origin peg, N"), initial=0, min_value=None, decimal_places=3)
    origin_z_m = MetresField(
        label=_("Origin peg, Z"),
        initial=0,
        min_value=None,
        decimal_places=3,
        help_text=_("Upward from the site's datum; below it a negative number."),
    )
    label_style = forms.ChoiceField(
        label=_("Labels"),
        choices=LabelStyle.choices,
        initial=LabelStyle.LETTERS,
        widget=forms.RadioSelect,
    )
    first_column = forms.CharField(
        label=_("Label of the first column"),
        max_length=8,
        initial="K",
        help_text=_("Starting at K leaves room for ten columns on the other side."),
    )
    first_row = forms.CharField(label=_("Label of the first row"), max_length=8, initial="1")
    skip_i_and_o = forms.BooleanField(label=_("Skip the letters I and O"), required=False)


class NewGridForm(GridForm):
    id = RecordIdField()
    columns = CountField(label=_("Columns to begin with"), min_value=1, max_value=500, initial=10)
    rows = CountField(label=_("Rows to begin with"), min_value=1, max_value=500, initial=6)


class EditGridForm(GridForm):
    """Once work lies on the grid, all but its name stands fast."""

    version = VersionField()

    def __init__(self, *args: Any, grid: Grid, is_frozen: bool, **options: Any) -> None:
        seen = {name: getattr(grid, name) for name in self.base_fields}
        super().__init__(*args, **{"initial": seen} | options)
        for name, field in self.fields.items():
            field.disabled = is_frozen and name not in ("name", "version")


class GrowForm(forms.Form):
    """More squares: whole columns and rows along an edge, or squares by their labels."""

    left = CountField(label=_("Columns on the left"), required=False, max_value=100)
    right = CountField(label=_("Columns on the right"), required=False, max_value=100)
    below = CountField(label=_("Rows below"), required=False, max_value=100)
    above = CountField(label=_("Rows above"), required=False, max_value=100)
    squares = BlockField(
        label=_("Or by their labels"), existing=False, required=False, help_text=_("K7, or K7–N10.")
    )

    def __init__(self, *args: Any, grid: Grid | None, **options: Any) -> None:
        super().__init__(*args, **options)
        cast(BlockField, self.fields["squares"]).grid = grid

    def clean(self) -> dict[str, Any]:
        said = super().clean() or {}
        if not self.errors and not any(said.get(name) for name in self.fields):
            raise ValidationError(_("Say how many columns or rows, or name the squares."))
        return {name: said.get(name) or 0 for name in said if name != "squares"} | {
            "squares": said.get("squares", [])
        }


class TakeOutForm(BlockForm):
    reason = WordsField(label=_("Reason"), rows=2)
