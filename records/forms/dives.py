"""The fields of a dive: the dive itself, who was in it, with which gas, and what was done."""

from collections.abc import Callable
from typing import Any

from django import forms
from django.utils.formats import date_format
from django.utils.translation import gettext_lazy as _

from records.forms.fields import (
    BarField,
    CelsiusField,
    ClockField,
    CountField,
    LitresField,
    MetresField,
    MinutesField,
    PercentField,
    RecordIdField,
    VersionField,
    WordsField,
)
from records.forms.rows import RowForm, Rows, rows_of
from records.models import (
    DEEPEST_M,
    Gas,
    Outcome,
    Purpose,
    TaskMethod,
    TeamRole,
)

NOTHING: list[Any] = [("", "–")]
HOURS = [("first", _("before the clocks went back")), ("second", _("after they went back"))]


class DayChoice(forms.ModelChoiceField):  # type: ignore[type-arg]
    def label_from_instance(self, day: Any) -> str:
        return f"{date_format(day.date, 'l j F')} · {day.vessel}"


class DiveForm(forms.Form):
    add_fault: Callable[[str, str], None]  # of the sheet that it stands on

    id = RecordIdField()
    version = VersionField(required=False)
    day: Any = DayChoice(
        None,
        label=_("Diving day"),
        empty_label=None,
        error_messages={"required": _("Choose the diving day.")},
    )
    left_surface_at = ClockField(
        label=_("Left the surface"),
        error_messages={"required": _("Say when they left the surface, or tap Now.")},
    )
    reached_surface_at = ClockField(label=_("Reached the surface"), required=False)
    left_hour = forms.ChoiceField(
        label=_("Left the surface in which of the two hours?"),
        choices=HOURS,
        widget=forms.RadioSelect,
        required=False,
    )
    reached_hour = forms.ChoiceField(
        label=_("Reached the surface in which of the two hours?"),
        choices=HOURS,
        widget=forms.RadioSelect,
        required=False,
    )
    greatest_depth_m = MetresField(
        label=_("Greatest depth"), required=False, decimal_places=1, max_value=DEEPEST_M
    )
    visibility_m = MetresField(label=_("Visibility"), required=False, decimal_places=1)
    water_temperature_c = CelsiusField(label=_("Water"), required=False, min_value=-3, max_value=45)
    bottom_minutes = MinutesField(
        label=_("Bottom time"), required=False, help_text=_("As the supervisor's record has it.")
    )
    purpose = forms.ChoiceField(
        label=_("What the dive was for"),
        choices=Purpose.choices,
        widget=forms.RadioSelect,
        error_messages={"required": _("Choose what the dive was for.")},
    )
    remarks = WordsField(label=_("Remarks"), required=False, rows=2)


class CylinderForm(RowForm):
    telling = ("size_l", "bar_in", "bar_out")

    size_l = LitresField(
        label=_("Cylinder"),
        max_value=100,
        error_messages={"required": _("Give the size of the cylinder.")},
    )
    bar_in = BarField(
        label=_("Pressure in"),
        max_value=400,
        error_messages={"required": _("Give the pressure before the dive.")},
    )
    bar_out = BarField(label=_("Pressure out"), required=False, max_value=400)


CylinderRows = rows_of(CylinderForm, extra=1, most=8)


class MemberForm(RowForm):
    telling = ("diver", "narrative", "gas", "left_surface_at", "reached_surface_at")

    diver: Any = forms.ModelChoiceField(
        None,
        label=_("Diver"),
        empty_label="–",
        error_messages={"required": _("Choose the diver of this row, or take the row out.")},
    )
    role = forms.ChoiceField(label=_("Part"), choices=TeamRole.choices, initial=TeamRole.DIVER)
    gas = forms.ChoiceField(label=_("Gas"), choices=NOTHING + Gas.choices, required=False)
    oxygen_percent = PercentField(label=_("Oxygen"), required=False, min_value=1)
    apparatus = forms.CharField(label=_("Breathing apparatus"), required=False, max_length=80)
    left_surface_at = ClockField(label=_("Own time down"), required=False, now_button=False)
    reached_surface_at = ClockField(label=_("Own time up"), required=False, now_button=False)
    greatest_depth_m = MetresField(
        label=_("Own greatest depth"), required=False, decimal_places=1, max_value=DEEPEST_M
    )
    narrative = WordsField(label=_("What this diver did and saw"), required=False, rows=2)

    def __init__(self, *args: Any, divers: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["diver"].queryset = divers  # type: ignore[attr-defined]
        prefix = f"{self.prefix}-cylinders"
        sent = self.is_bound and f"{prefix}-TOTAL_FORMS" in self.data
        self.cylinders = CylinderRows(
            self.data if sent else None,
            prefix=prefix,
            initial=(self.initial or {}).get("cylinders"),
        )

    @property
    def differs(self) -> bool:
        """Something of the diver's own stands there or is wrong: it must be seen."""
        own = ("left_surface_at", "reached_surface_at", "greatest_depth_m", "apparatus")
        return any(self[name].value() or self[name].errors for name in own)

    def has_changed(self) -> bool:
        return super().has_changed() or bool(self.cylinders.standing)

    def is_valid(self) -> bool:
        cylinders = not self.cylinders.is_bound or self.cylinders.is_valid()
        return super().is_valid() and cylinders


MemberRows = rows_of(MemberForm, extra=3, most=16)


class TaskForm(RowForm):
    telling = ("squares", "where_in_words", "method", "outcome", "minutes")

    squares = forms.CharField(
        label=_("Squares"),
        required=False,
        max_length=600,
        help_text=_("One or several: K7, or K7 L7, or K7-U7 for all between."),
        widget=forms.TextInput(
            attrs={"list": "open-squares", "autocapitalize": "characters", "autocomplete": "off"}
        ),
    )
    where_in_words = forms.CharField(label=_("Where, in words"), required=False, max_length=160)
    stage: Any = forms.ModelChoiceField(
        None, label=_("Stage"), required=False, empty_label=_("the present one")
    )
    method = forms.ChoiceField(
        label=_("Kind of work"),
        choices=TaskMethod.choices,
        widget=forms.RadioSelect,
        error_messages={"required": _("Choose the kind of work.")},
    )
    outcome = forms.ChoiceField(
        label=_("How it went"),
        choices=Outcome.choices,
        widget=forms.RadioSelect,
        required=False,
        help_text=_("Leave it open while the dive is under way."),
    )
    minutes = CountField(label=_("Minutes"), required=False, max_value=720)

    @property
    def in_words(self) -> bool:
        return bool(self["where_in_words"].value() or self["where_in_words"].errors)

    def __init__(self, *args: Any, stages: Any, check_url: str, **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["stage"].queryset = stages  # type: ignore[attr-defined]
        self.fields["squares"].widget.attrs["data-check-url"] = check_url


TaskRows = rows_of(TaskForm, extra=2, most=40)

__all__ = ["CylinderRows", "DiveForm", "MemberForm", "MemberRows", "Rows", "TaskForm", "TaskRows"]
