"""The fields of a diving day, and the hours of its diving supervisors."""

from collections.abc import Callable, Mapping
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from records.forms.fields import (
    ClockField,
    DayField,
    QuantityField,
    RecordIdField,
    VersionField,
    WordsField,
)
from records.forms.rows import RowForm, rows_of
from records.models import Season


class HoursField(QuantityField):
    unit = _("h")
    default_min = 0
    default_max = 24

    def unit_name(self) -> Any:
        return _("hours")


def line(
    label: Any, length: int, *, required: bool = False, help_text: Any = ""
) -> forms.CharField:
    return forms.CharField(label=label, max_length=length, required=required, help_text=help_text)


class DayForm(forms.Form):
    add_fault: Callable[[str, str], None]  # of the sheet that it stands on

    id = RecordIdField()
    version = VersionField(required=False)
    date = DayField(label=_("Date"))
    vessel = line(_("Vessel or platform"), 80, required=True)
    place = line(_("Place of diving"), 160, required=True, help_text=_("Readers do not see it."))
    contractor = line(_("Diving contractor"), 120, required=True)
    plan_reference = line(_("Diving project plan"), 120)
    risk_assessment_reference = line(_("Risk assessment"), 120)
    schedule_used = line(
        _("Tables or computers used"), 160, help_text=_("As the diving supervisor told.")
    )
    emergency_arrangements = WordsField(label=_("Emergency arrangements"), required=False, rows=2)
    briefing = WordsField(label=_("Briefing"), required=False, rows=2)
    pre_dive_checks = WordsField(label=_("Pre-dive checks"), required=False, rows=2)
    weather = line(_("Weather"), 120)
    sea_state = line(_("Sea state"), 80)
    current = line(_("Current"), 80)
    hours_lost = HoursField(label=_("Hours lost"), required=False)
    hours_lost_reason = line(_("Why they were lost"), 200)
    incidents = WordsField(label=_("Incidents"), required=False, rows=2)
    diary = WordsField(label=_("Diary"), required=False, rows=4)


class ShiftForm(RowForm):
    telling = ("name", "from_time", "to_time")

    name = line(_("Name"), 120, required=True)
    from_time = ClockField(label=_("From"), now_button=False)
    to_time = ClockField(label=_("Until"), required=False, now_button=False)


ShiftRows = rows_of(ShiftForm, extra=2, most=12)


class DaySheet:
    """The day with its supervisors' rows."""

    def __init__(
        self, season: Season, *, data: Any = None, initial: Mapping[str, Any] | None = None
    ) -> None:
        given = dict(initial or {})
        shifts = given.pop("supervisors", None)
        self.season = season
        self.form = DayForm(data, initial=given)
        self.form.add_fault = self.add_fault
        self.supervisors: Any = ShiftRows(data, prefix="supervisors", initial=shifts)

    @property
    def rows(self) -> list[Any]:
        return list(self.supervisors.forms)

    def is_valid(self) -> bool:
        return all([self.form.is_valid(), self.supervisors.is_valid()])

    def add_fault(self, place: str, words: str) -> None:
        """`place` as the verb names it: `supervisors.0.to_time`."""
        form: Any = self.form
        field = place
        match place.split("."):
            case ["supervisors", index, name]:
                form, field = self.supervisors.standing[int(index)], name
        form.add_error(field if field in form.fields else None, words)
