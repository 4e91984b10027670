"""The form for film on a coded board: which squares it shows."""

from typing import Any, cast

from django import forms
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from records.forms.drawings import FRAME_LIES, DiveChoice
from records.forms.fields import CountField, VersionField
from records.forms.squares import squares_typed
from records.models import Dive, Diver, Extent, NumberKind, Season, Square, SquareGoal, Stage
from records.queries.square_words import present_stages, stages_open_for_all
from records.refusals import Refused
from records.verbs.blocks import block_that_holds
from records.verbs.drawings import DrawingEntry

LATER = "later"


class FilmForm(forms.Form):
    version = VersionField()
    squares = forms.CharField(
        label=_("Square on the film"),
        max_length=200,
        widget=forms.TextInput(attrs={"autocomplete": "off", "list": "squares-to-draw"}),
        help_text=_("Of several, the lowest left one lies at the lower left of the board."),
    )
    stage: Any = forms.ModelChoiceField(
        None,
        label=_("It is filed under the stage"),
        required=False,
        empty_label=_("the square's present one"),
        help_text=_("Choose one only if it was drawn in an earlier stage than the present one."),
    )
    extent = forms.ChoiceField(
        label=_("How much of it is drawn"),
        choices=[*Extent.choices, (LATER, _("not known yet: the check asks"))],
        widget=forms.RadioSelect,
        help_text=_("Of several squares only what is so of each; else leave it to the check."),
    )
    frame_lies = forms.ChoiceField(
        label=_("The frame lay"), choices=FRAME_LIES, widget=forms.RadioSelect
    )
    dive: Any = DiveChoice(None, label=_("Drawn on dive"), required=False, empty_label="–")
    drawn_by: Any = forms.ModelChoiceField(
        None, label=_("Drawn by"), required=False, empty_label="–"
    )
    tag = CountField(
        label=_("Number written on the film"),
        required=False,
        min_value=1,
        help_text=_("Only if it was numbered ahead from a block; else leave it empty."),
    )

    def __init__(self, season: Season, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self.season = season
        fields = cast(dict[str, Any], self.fields)
        goals = SquareGoal.objects.standing().filter(stage__season=season)
        stages = Stage.objects.standing().filter(season=season, pk__in=goals.values("stage"))
        fields["stage"].queryset = stages.order_by("-order")
        dives = Dive.objects.standing().filter(season=season).select_related("day")
        fields["dive"].queryset = dives.order_by("-n")
        fields["drawn_by"].queryset = Diver.objects.standing().filter(site=season.site_id)

    def clean_squares(self) -> list[Square]:
        return squares_typed(self.season.site, self.cleaned_data["squares"])

    def clean(self) -> dict[str, Any]:
        """The stage that is meant, and whether the film's number is out: what is wrong with
        either is told at once."""
        said = super().clean() or {}
        try:
            if "squares" in said and "stage" in said:
                said["stage"] = self._stage_meant(said["squares"], said["stage"])
        except Refused as refusal:
            self.add_error(refusal.field, refusal.words)
        try:
            if said.get("tag") is not None:
                block_that_holds(self.season, NumberKind.DRAWING, said["tag"])
        except Refused as refusal:
            self.add_error("tag", refusal.words)
        return said

    def _stage_meant(self, squares: list[Square], chosen: Stage | None) -> Stage:
        """The chosen one, else the present one of all these squares; Refused, with those that
        are open for all, where that is none of them."""
        fitting = stages_open_for_all(self.season, squares)
        if not fitting:
            raise Refused(
                _now("These squares have no open stage in common. Ask a lead to open one."),
                field="squares",
            )
        values = {"others": ", ".join(str(one) for one in fitting)}
        if chosen is not None:
            if chosen in fitting:
                return chosen
            words = _now("“%(stage)s” is not open for these squares; open there: %(others)s.")
            raise Refused(words % (values | {"stage": chosen}), field="stage")
        present = set(present_stages(self.season, squares).values())
        if len(present) == 1:
            return present.pop()
        words = _now("These squares are in different stages. Choose; open for all: %(others)s.")
        raise Refused(words % values, field="stage")

    def says(self) -> DrawingEntry:
        names = ("frame_lies", "dive", "drawn_by")
        return DrawingEntry(**{name: self.cleaned_data[name] for name in names})

    def said_extent(self) -> str:
        """Empty where it is left to the check."""
        said: str = self.cleaned_data["extent"]
        return "" if said == LATER else said
