"""Forms for cards and their contact sheets."""

from typing import Any

from django import forms
from django.utils.formats import date_format
from django.utils.translation import gettext_lazy as _

from records.forms.fields import QuantityField, RecordIdField, VersionField
from records.models import Card, Dive, Diver, PhotoRun, Season


class SecondsField(QuantityField):
    unit = _("s")
    decimals = 1
    default_min = -100_000_000
    default_max = 100_000_000

    def unit_name(self) -> Any:
        return _("seconds")


class DiveByTeam(forms.ModelChoiceField):  # type: ignore[type-arg]
    """Dives by number, day and team, the latest first."""

    def label_from_instance(self, dive: Any) -> str:
        team = ", ".join(member.diver.initials for member in dive.members.all())
        day = date_format(dive.day.date, "j F")
        return " · ".join(part for part in (str(dive.n), day, team) if part)


def dives_to_choose(season: Season) -> Any:
    dives = Dive.objects.standing().filter(season=season).select_related("day")
    return dives.prefetch_related("members__diver").order_by("-n")


def divers_to_choose(season: Season) -> Any:
    return Diver.objects.standing().filter(site=season.site).order_by("initials")


class CardDetailsForm(forms.Form):
    photographer = forms.ModelChoiceField(
        label=_("Photographer"), queryset=Diver.objects.none(), required=False
    )
    clock_offset_s = SecondsField(
        label=_("Camera's clock is fast by"),
        required=False,
        help_text=_("Photograph a clock to know it. Slow: with a minus."),
    )

    def __init__(self, *args: Any, season: Season, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        photographer: Any = self.fields["photographer"]
        photographer.queryset = divers_to_choose(season)

    @property
    def said(self) -> dict[str, Any]:
        return {
            "photographer": self.cleaned_data["photographer"],
            "clock_offset_s": float(self.cleaned_data["clock_offset_s"] or 0),
        }


class NewCardForm(CardDetailsForm):
    run = forms.ModelChoiceField(label=_("Photo run"), queryset=PhotoRun.objects.none())
    dive = DiveByTeam(label=_("Dive"), queryset=Dive.objects.none())
    id = RecordIdField()
    field_order = ("run", "dive", "photographer", "clock_offset_s")

    def __init__(self, *args: Any, season: Season, **kwargs: Any) -> None:
        super().__init__(*args, season=season, **kwargs)
        run: Any = self.fields["run"]
        dive: Any = self.fields["dive"]
        run.queryset = PhotoRun.objects.standing().filter(season=season)
        dive.queryset = dives_to_choose(season)


class CardForm(CardDetailsForm):
    version = VersionField()

    @staticmethod
    def seen(card: Card) -> dict[str, Any]:
        offset = card.clock_offset_s
        return {
            "version": card.version,
            "photographer": card.photographer_id,
            "clock_offset_s": int(offset) if offset.is_integer() else offset,
        }


class AcceptForm(forms.Form):
    """No field of its own: it bears what accepting asks and refuses."""

    seen = forms.CharField(widget=forms.HiddenInput, required=False)
