"""What to show of the dive register."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from records.forms.squares import squares_typed
from records.models import DivingDay, Season
from records.queries.dives import Filter, divers_who_dived


class DiveFilterForm(forms.Form):
    is_filter = True  # nothing of it is asked for, so nothing is called optional

    day: Any = forms.ModelChoiceField(
        None, label=_("Diving day"), required=False, empty_label=_("all")
    )
    diver = forms.ChoiceField(label=_("Diver"), required=False)
    squares = forms.CharField(label=_("Square"), required=False, max_length=60)

    def __init__(self, *args: Any, season: Season, sees_names: bool, **options: Any) -> None:
        """Who sees no names is not asked for a diver either."""
        super().__init__(*args, **options)
        self.season = season
        days: Any = self.fields["day"]
        days.queryset = DivingDay.objects.filter(season=season)
        if not sees_names:
            del self.fields["diver"]
            return
        divers: Any = self.fields["diver"]
        divers.choices = [
            ("", _("all")),
            *((str(diver.pk), diver.initials) for diver in divers_who_dived(season)),
        ]

    def clean_squares(self) -> list[Any]:
        typed = self.cleaned_data["squares"]
        return squares_typed(self.season.site, typed) if typed.strip() else []

    def chosen(self) -> Filter:
        if not self.is_bound or not self.is_valid():
            return Filter()
        said = self.cleaned_data
        return Filter(
            day=said["day"] and said["day"].pk,
            diver=said.get("diver") or None,
            squares=tuple(said["squares"]),
        )
