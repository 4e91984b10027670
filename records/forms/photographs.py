"""Forms of single photographs, and of frames that turn out wrong."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from records.forms.cards import DiveByTeam, divers_to_choose, dives_to_choose
from records.forms.drawings import PICTURES
from records.forms.fields import MetresField, RecordIdField, VersionField, WordsField
from records.forms.squares import squares_typed
from records.models import (
    Dive,
    Diver,
    Frame,
    Photograph,
    PhotoKind,
    Picture,
    Season,
    Square,
    Stage,
)
from records.queries.square_words import present_stages
from records.verbs.photographs import PhotographEntry

# Finds get their pictures on their own page, frames come in with their card.
BY_HAND = [
    PhotoKind.RECORD_SHOT,
    PhotoKind.DETAIL,
    PhotoKind.WORKING_SHOT,
    PhotoKind.SLATE,
    PhotoKind.OTHER,
]


class PhotographForm(forms.Form):
    kind = forms.ChoiceField(
        label=_("Kind"),
        choices=[(kind.value, kind.label) for kind in BY_HAND],
        widget=forms.RadioSelect,
    )
    subject = forms.CharField(label=_("Subject"), max_length=200, required=False)
    square = forms.CharField(
        label=_("Square"),
        max_length=40,
        required=False,
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "characters"}),
    )
    stage = forms.ModelChoiceField(
        label=_("Stage"),
        queryset=Stage.objects.none(),
        required=False,
        empty_label=_("the square's present one"),
    )
    facing = forms.CharField(
        label=_("Facing"), max_length=40, required=False, help_text=_("For example: north, down")
    )
    scale_words = forms.CharField(
        label=_("Scale in the picture"),
        max_length=60,
        required=False,
        help_text=_("For example: bar of 20 cm"),
    )
    dive = DiveByTeam(label=_("Dive"), queryset=Dive.objects.none(), required=False)
    photographer = forms.ModelChoiceField(
        label=_("Photographer"), queryset=Diver.objects.none(), required=False
    )
    version = VersionField()

    def __init__(self, *args: Any, season: Season, of_frame: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.season = season
        offered: dict[str, Any] = {
            "stage": Stage.objects.standing().filter(season=season),
            "dive": dives_to_choose(season),
            "photographer": divers_to_choose(season),
        }
        for name, queryset in offered.items():
            field: Any = self.fields[name]
            field.queryset = queryset
        if of_frame:  # its kind, dive and place came with the card
            for name in ("kind", "square", "stage", "dive"):
                del self.fields[name]

    def clean_square(self) -> Square | None:
        typed = self.cleaned_data["square"].strip()
        if not typed:
            return None
        squares = squares_typed(self.season.site, typed)
        if len(squares) > 1:
            raise ValidationError(gettext("A photograph names one square at most."))
        return squares[0]

    def entry(self, kind: str = "") -> PhotographEntry:
        said = self.cleaned_data
        square, stage = said.get("square"), said.get("stage")
        if square is not None and stage is None:
            stage = present_stages(self.season, [square]).get(square.pk)
        return PhotographEntry(
            kind=said.get("kind") or kind,
            dive=said.get("dive"),
            square=square,
            stage=stage,
            subject=said["subject"],
            facing=said["facing"],
            scale_words=said["scale_words"],
            photographer=said["photographer"],
        )

    @staticmethod
    def seen(photograph: Photograph) -> dict[str, Any]:
        names = ("kind", "subject", "facing", "scale_words", "version")
        seen = {name: getattr(photograph, name) for name in names}
        seen |= {name: getattr(photograph, f"{name}_id") for name in ("stage", "dive")}
        square = photograph.square
        return seen | {
            "square": square.label if square else "",
            "photographer": photograph.photographer_id,
        }


class NewPhotographForm(PhotographForm):
    """`picture` is the file that came in before, where something else was to be mended."""

    file = forms.FileField(
        label=_("Photograph"),
        error_messages={"required": _("Choose the photograph's file, or take one.")},
        widget=forms.FileInput(attrs={"accept": PICTURES}),
    )
    picture = forms.ModelChoiceField(
        queryset=Picture.objects.none(), required=False, widget=forms.HiddenInput
    )
    raw = forms.FileField(
        label=_("Raw file of the same exposure"),
        required=False,
        help_text=_("If the camera wrote one; it is kept beside the photograph."),
    )
    id = RecordIdField()
    field_order = (
        "file",
        "raw",
        "kind",
        "subject",
        "square",
        "stage",
        "facing",
        "scale_words",
        "dive",
    )

    def __init__(self, *args: Any, season: Season, **kwargs: Any) -> None:
        super().__init__(*args, season=season, **kwargs)
        del self.fields["version"]
        picture: Any = self.fields["picture"]
        picture.queryset = Picture.objects.standing().filter(site=season.site)
        self.fields["file"].required = not self.data.get("picture")


class FrameStandsForm(forms.Form):
    """Where a frame really stood."""

    place = forms.TypedChoiceField(label=_("Station"), coerce=int)
    foot_x_m = MetresField(
        label=_("Off the station along +x"), min_value=-5, max_value=5, initial=0
    )
    foot_y_m = MetresField(
        label=_("Off the station along +y"), min_value=-5, max_value=5, initial=0
    )
    version = VersionField()

    def __init__(self, *args: Any, frame: Frame, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        run = frame.run
        place: Any = self.fields["place"]
        place.choices = [(n, run.station_words(n)) for n in range(len(run.stations))]

    @staticmethod
    def seen(frame: Frame) -> dict[str, Any]:
        return {
            "place": frame.run.places.get((frame.row_id, frame.station)),
            "foot_x_m": frame.foot_x_m,
            "foot_y_m": frame.foot_y_m,
            "version": frame.version,
        }


class LeaveOutForm(forms.Form):
    reason = WordsField(label=_("Reason"), rows=2, help_text=_("One sentence; it is kept."))
    version = VersionField()
