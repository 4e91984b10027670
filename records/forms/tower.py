"""Forms for tower set-ups and photo runs."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from records.forms.fields import (
    CountField,
    DegreesField,
    MetresField,
    MillimetresField,
    RecordIdField,
    VersionField,
    WordsField,
)
from records.forms.marks import CentimetresField
from records.forms.rows import RowForm, rows_of
from records.models import Grid, PhotoRun, Season, Stage, TowerSetUp
from records.verbs.set_up_versions import BaseSizes
from records.verbs.tower import RowEntry, RunEntry, SetUpEntry

FARTHEST_M = 5_000
MOST_ROWS = 60
TURNS = [
    (1, _("As the camera stores it")),
    (6, _("A quarter turn to the right")),
    (8, _("A quarter turn to the left")),
    (3, _("Half a turn")),
]


class SetUpForm(forms.Form):
    name = forms.CharField(
        label=_("Name of the set-up"),
        max_length=80,
        help_text=_("For example: Tower, 24 mm, 1.5 m"),
    )
    camera = forms.CharField(label=_("Camera"), max_length=120)
    port = forms.CharField(label=_("Port"), max_length=80, required=False)
    focal_length_mm = MillimetresField(label=_("Focal length"), required=False, decimal_places=1)
    sensor_width_mm = MillimetresField(label=_("Sensor width"), required=False, decimal_places=1)
    height_m = MetresField(
        label=_("Height above the base"),
        min_value=0.1,
        max_value=20,
        help_text=_("From the lens to the plane on which the tower stands."),
    )
    orientation = forms.TypedChoiceField(
        label=_("How its pictures are turned to stand upright"),
        choices=TURNS,
        coerce=int,
        initial=1,
        widget=forms.RadioSelect,
        help_text=_("A camera that looks straight down notes any direction; the tower knows."),
    )
    picture_width_px = CountField(label=_("Picture width, upright, in pixels"), min_value=1)
    picture_height_px = CountField(label=_("Picture height, upright, in pixels"), min_value=1)
    footprint_x_m = MetresField(
        label=_("What a picture covers from left to right"),
        min_value=0.05,
        max_value=50,
        decimal_places=3,
        help_text=_("Measured under water on the base: lay a tape under the tower."),
    )
    footprint_y_m = MetresField(
        label=_("What a picture covers from bottom to top"),
        min_value=0.05,
        max_value=50,
        decimal_places=3,
    )
    id = RecordIdField()

    def entry(self) -> SetUpEntry:
        said = dict(self.cleaned_data)
        said.pop("id")
        return SetUpEntry(**{name: _plain(value) for name, value in said.items()})


class BaseMarkersForm(forms.Form):
    """Printed markers on a tower's base: how large the base is, and they are."""

    width_cm = CentimetresField(
        label=_("Base along its lower side, from outer edge to outer edge of the black"),
        required=True,
        min_value=5,
        max_value=1000,
    )
    depth_cm = CentimetresField(
        label=_("Base along its left side, from outer edge to outer edge of the black"),
        required=True,
        min_value=5,
        max_value=1000,
    )
    marker_mm = MillimetresField(
        label=_("Side of a marker's black"),
        min_value=10,
        max_value=1000,
        decimal_places=1,
        initial=80,
        help_text=_("80 mm as printed; measure yours."),
    )
    version = VersionField()

    def sizes(self) -> BaseSizes:
        said = self.cleaned_data
        width_m, depth_m = float(said["width_cm"]) / 100, float(said["depth_cm"]) / 100
        return BaseSizes(width_m, depth_m, float(said["marker_mm"]))

    @staticmethod
    def seen(set_up: TowerSetUp) -> dict[str, Any]:
        sizes = {"width_cm": set_up.base_x_m, "depth_cm": set_up.base_y_m}
        known = {name: round(100 * size, 1) for name, size in sizes.items() if size}
        if set_up.base_marker_mm:
            known["marker_mm"] = set_up.base_marker_mm
        return {"version": set_up.version} | known


class RunForm(forms.Form):
    name = forms.CharField(label=_("Name of the run"), max_length=80)
    stage = forms.ModelChoiceField(label=_("Stage"), queryset=Stage.objects.none())
    grid = forms.ModelChoiceField(label=_("Grid"), queryset=Grid.objects.none())
    set_up = forms.ModelChoiceField(
        label=_("Set-up"),
        queryset=TowerSetUp.objects.none(),
        help_text=_("Only leads make a new one."),
    )
    note = WordsField(label=_("Note"), required=False, rows=2)
    id = RecordIdField()
    version = VersionField()

    def __init__(self, *args: Any, season: Season, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        offered: dict[str, Any] = {
            "stage": Stage.objects.standing().filter(season=season),
            "grid": Grid.objects.standing().filter(site=season.site),
            "set_up": TowerSetUp.objects.standing().filter(site=season.site),
        }
        for name, queryset in offered.items():
            field: Any = self.fields[name]
            field.queryset = queryset
            only = queryset[:2]
            if len(only) == 1:
                field.empty_label = None

    def entry(self, rows: tuple[RowEntry, ...]) -> RunEntry:
        said = self.cleaned_data
        return RunEntry(
            name=said["name"],
            stage=said["stage"],
            grid=said["grid"],
            set_up=said["set_up"],
            rows=rows,
            note=said["note"],
        )

    @staticmethod
    def seen(run: PhotoRun) -> dict[str, Any]:
        return {
            "id": run.pk,
            "version": run.version,
            "name": run.name,
            "stage": run.stage_id,
            "grid": run.grid_id,
            "set_up": run.set_up_id,
            "note": run.note,
        }


class RunRowForm(RowForm):
    telling = ("start_x_m", "start_y_m", "step_m", "stations")

    start_x_m = MetresField(label=_("First station x"), min_value=-FARTHEST_M, max_value=FARTHEST_M)
    start_y_m = MetresField(label=_("First station y"), min_value=-FARTHEST_M, max_value=FARTHEST_M)
    stations = CountField(label=_("Stations"), min_value=1, max_value=500)
    step_m = MetresField(label=_("Step"), min_value=0.01, max_value=100)
    direction_deg = DegreesField(label=_("Direction"), initial=0)
    turn_deg = DegreesField(label=_("Tower turned by"), initial=0)

    def entry(self) -> RowEntry:
        names = RowEntry.__dataclass_fields__
        return RowEntry(**{name: _plain(self.cleaned_data[name]) for name in names})


NewRunRows = rows_of(RunRowForm, extra=1, most=MOST_ROWS)
KnownRunRows = rows_of(RunRowForm, extra=0, most=MOST_ROWS)


def row_entries(rows: Any) -> tuple[RowEntry, ...]:
    """The rows that were filled and not taken out."""
    return tuple(form.entry() for form in rows.standing)


def rows_seen(run: PhotoRun) -> list[dict[str, Any]]:
    names = RowEntry.__dataclass_fields__
    return [{name: _typed(getattr(row, name)) for name in names} for row in run.rows.all()]


def _plain(value: Any) -> Any:
    return float(value) if hasattr(value, "as_tuple") else value


def _typed(value: Any) -> Any:
    return int(value) if isinstance(value, float) and value.is_integer() else value
