"""What a person says to have a run planned, and to have it made."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from records.forms.fields import (
    DegreesField,
    MetresField,
    MinutesField,
    PercentField,
    QuantityField,
    RecordIdField,
    WordsField,
)
from records.forms.squares import BlockField
from records.intake.planning import Wanted, box_of_squares
from records.models import Grid, Season, Square, Stage, TowerSetUp
from records.verbs.tower import RowEntry, RunEntry

FARTHEST_M = 5_000
ALONG = [("x", _("Along x, the columns")), ("y", _("Along y, the rows of the grid"))]
WAYS = [("back", _("There and back")), ("one", _("All one way"))]


class SecondsField(QuantityField):
    unit = _("s")
    decimals = 0
    default_min = 1

    def unit_name(self) -> Any:
        return _("seconds")


class OverlapField(PercentField):
    decimals = 0
    default_max = 90

    def limit_words(self) -> tuple[Any, Any]:
        words = _("Give an overlap between 0 and 90 %%.")
        return words, words


class RunPlanForm(forms.Form):
    """Asked by the page's address, so that a plan can be looked at again and sent on."""

    grid = forms.ModelChoiceField(label=_("Grid"), queryset=Grid.objects.none())
    stage = forms.ModelChoiceField(label=_("Stage"), queryset=Stage.objects.none())
    set_up = forms.ModelChoiceField(label=_("Set-up"), queryset=TowerSetUp.objects.none())
    squares = forms.CharField(
        label=_("Squares"),
        required=False,
        widget=forms.TextInput(attrs={"data-block": True, "autocomplete": "off"}),
        help_text=_("K7–N10 for a block. The run covers the rectangle around all you name."),
    )
    corner_x_m = MetresField(
        label=_("Corner x"), required=False, min_value=-FARTHEST_M, max_value=FARTHEST_M
    )
    corner_y_m = MetresField(
        label=_("Corner y"), required=False, min_value=-FARTHEST_M, max_value=FARTHEST_M
    )
    length_m = MetresField(label=_("Length along x"), required=False, min_value=0.1, max_value=500)
    width_m = MetresField(label=_("Width along y"), required=False, min_value=0.1, max_value=500)
    forward_percent = OverlapField(label=_("Forward overlap"), initial=40)
    side_percent = OverlapField(label=_("Side overlap"), initial=40)
    seconds_a_frame = SecondsField(label=_("Time for a frame"), initial=20, max_value=3600)
    minutes_a_dive = MinutesField(
        label=_("Bottom time a dive, for frames"), initial=30, min_value=1, max_value=600
    )
    along = forms.ChoiceField(label=_("Rows run"), choices=ALONG, initial="x")
    ways = forms.ChoiceField(label=_("Direction of the rows"), choices=WAYS, initial="back")
    turn_deg = DegreesField(
        label=_("Tower turned by"),
        initial=0,
        help_text=_("0 as the grid lies, 90 a quarter turn counter-clockwise."),
    )
    height_error_m = MetresField(label=_("Height kept within"), required=False, max_value=20)
    place_error_m = MetresField(label=_("Place kept within"), required=False, max_value=20)
    tilt_deg = DegreesField(
        label=_("Camera held plumb within"), required=False, min_value=0, max_value=44
    )

    def __init__(self, *args: Any, season: Season, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.season = season
        self.fields["grid"].widget.attrs["data-redraws"] = True
        offered: dict[str, Any] = {
            "grid": Grid.objects.standing().filter(site=season.site),
            "stage": Stage.objects.standing().filter(season=season),
            "set_up": TowerSetUp.objects.standing().filter(site=season.site),
        }
        for name, queryset in offered.items():
            field: Any = self.fields[name]
            field.queryset = queryset
            if queryset:
                field.empty_label, field.initial = None, queryset[0].pk

    @classmethod
    def to_fill_in(cls, said: Any, season: Season) -> "RunPlanForm":
        """What is said so far, not yet asked: another grid is to be drawn under it."""
        told = {name: text for name, text in said.items() if name in cls.base_fields}
        return cls(initial=told, season=season)

    @property
    def has_several_grids(self) -> bool:
        grids: Any = self.fields["grid"]
        return len(grids.queryset) > 1

    @property
    def grid_shown(self) -> Grid | None:
        """The grid that is asked for, or the first."""
        try:
            return self.fields["grid"].clean(self["grid"].value())  # type: ignore[no-any-return]
        except ValidationError:
            return None

    def clean(self) -> None:
        said = self.cleaned_data
        if "grid" in said and said.get("squares"):
            self._read_squares(said["grid"], said["squares"])
        elif not said.get("squares") and "squares" not in self.errors:
            for name in ("length_m", "width_m"):
                if name not in self.errors and said.get(name) is None:
                    self.add_error(
                        name, _("Name the squares, or give length and width of the area.")
                    )

    def _read_squares(self, grid: Grid, text: str) -> None:
        field: Any = BlockField(grid, existing=False)
        try:
            squares = field.clean(text)
        except ValidationError as error:
            self.add_error("squares", error)
            return
        self.cleaned_data["squares"] = squares
        if squares and not Square.objects.in_box(grid, box_of_squares(grid, squares)).exists():
            words = _("No square of %(grid)s lies there. Look at its plan, or choose another grid.")
            self.add_error("squares", words % {"grid": grid})

    def wanted(self) -> Wanted:
        said = {name: _plain(value) for name, value in self.cleaned_data.items()}
        return Wanted(
            season=self.season,
            stage=said["stage"],
            grid=said["grid"],
            set_up=said["set_up"],
            box=self._box(said),
            forward_percent=said["forward_percent"],
            side_percent=said["side_percent"],
            along=said["along"],
            there_and_back=said["ways"] == "back",
            turn_deg=said["turn_deg"],
            seconds_a_frame=said["seconds_a_frame"],
            minutes_a_dive=said["minutes_a_dive"],
            height_error_m=said["height_error_m"],
            place_error_m=said["place_error_m"] or 0.0,
            tilt_deg=said["tilt_deg"] or 0.0,
        )

    def _box(self, said: dict[str, Any]) -> tuple[float, float, float, float]:
        if said["squares"]:
            return box_of_squares(said["grid"], said["squares"])
        x_m, y_m = said["corner_x_m"] or 0.0, said["corner_y_m"] or 0.0
        return x_m, y_m, x_m + said["length_m"], y_m + said["width_m"]


class MakeRunForm(forms.Form):
    name = forms.CharField(label=_("Name of the run"), max_length=80)
    note = WordsField(label=_("Note"), required=False, rows=2)
    id = RecordIdField()

    def entry(self, wanted: Wanted, rows: tuple[RowEntry, ...]) -> RunEntry:
        return RunEntry(
            name=self.cleaned_data["name"],
            stage=wanted.stage,
            grid=wanted.grid,
            set_up=wanted.set_up,
            rows=rows,
            note=self.cleaned_data["note"],
        )


def _plain(value: Any) -> Any:
    return float(value) if hasattr(value, "as_tuple") else value
