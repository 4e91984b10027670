"""Forms for a season: settings, closing, releases."""

from typing import Any
from zoneinfo import available_timezones

from django import forms
from django.utils.translation import gettext_lazy as _

from records.forms.fields import (
    DayField,
    MillimetresField,
    PercentField,
    RecordIdField,
    VersionField,
    WordsField,
)
from records.models import Audience, Released, Season
from records.verbs.season import SeasonSays


def _zones() -> list[tuple[str, str]]:
    return [(zone, zone.replace("_", " ")) for zone in sorted(available_timezones())]


class SeasonForm(forms.Form):
    name = forms.CharField(label=_("Name of the season"), max_length=120)
    code = forms.SlugField(
        label=_("Season code"),
        max_length=20,
        help_text=_("Stands in every number: HER31 gives HER31-dive-12. It stays once used."),
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    starts_on = DayField(label=_("First day"))
    ends_on = DayField(label=_("Last day"))
    zone = forms.ChoiceField(
        label=_("Time zone"), choices=_zones, help_text=_("Of the clocks in the shed.")
    )
    coverage_percent = PercentField(
        label=_("Share of a square that photographs must cover"), min_value=1, initial=98
    )
    disagreement_limit_mm = MillimetresField(
        label=_("Drawing and photograph may differ by"), min_value=1, max_value=1000, initial=30
    )
    tell_human_remains = WordsField(
        label=_("Whom to tell of human remains"),
        rows=2,
        required=False,
        help_text=_("Name, place in the team and telephone number."),
    )
    tell_ordnance = WordsField(
        label=_("Whom to tell of suspected ordnance"),
        rows=2,
        required=False,
        help_text=_("Name, place in the team and telephone number."),
    )
    id = RecordIdField()
    version = VersionField(required=False)

    def says(self) -> SeasonSays:
        return SeasonSays(
            **{name: self.cleaned_data[name] for name in _SAID_ALIKE},
            coverage_needed_fraction=float(self.cleaned_data["coverage_percent"]) / 100,
            disagreement_limit_mm=float(self.cleaned_data["disagreement_limit_mm"]),
        )

    @staticmethod
    def seen(season: Season) -> dict[str, Any]:
        return {
            "id": season.pk,
            "version": season.version,
            "coverage_percent": season.coverage_needed_percent,
            "disagreement_limit_mm": round(season.disagreement_limit_mm),
            **{name: getattr(season, name) for name in _SAID_ALIKE},
        }


_SAID_OTHERWISE = {"coverage_percent", "disagreement_limit_mm"}
_SAID_ALIKE = [
    name for name in SeasonForm.base_fields if name not in {"id", "version", *_SAID_OTHERWISE}
]


class EventForm(forms.Form):
    reason = WordsField(rows=4, help_text=_("It stays with the season."))
    id = RecordIdField()

    def __init__(self, *args: Any, asked: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["reason"].label = asked


class ReleaseForm(forms.Form):
    what = forms.ChoiceField(
        label=_("What"),
        choices=[(one.value, one.label) for one in (Released.POSITIONS, Released.GEOGRAPHIC)],
        widget=forms.RadioSelect,
    )
    knowing = forms.BooleanField(label=_("I may decide this, and it may be known"))
    id = RecordIdField()

    audience = Audience.READERS
