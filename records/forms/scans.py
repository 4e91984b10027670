"""The form for film on a coded board: which squares it shows."""

from typing import Any, cast

from django import forms
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from records.forms.drawings import FRAME_LIES, DiveChoice
from records.forms.fields import CountField, VersionField
from records.forms.squares import squares_typed
from records.models import Dive, Diver, Extent, Season, Square, SquareGoal, Stage
from records.queries.square_words import squares_meant, stages_open_for_all
from records.refusals import Refused
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
        empty_label=None,
        help_text=_("The latest one that is open, unless you choose the one it was drawn in."),
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
        fields["stage"].initial = self._likely() or stages.order_by("-order").first()
        dives = Dive.objects.standing().filter(season=season).select_related("day")
        fields["dive"].queryset = dives.order_by("-n")
        fields["drawn_by"].queryset = Diver.objects.standing().filter(site=season.site_id)

    def clean_squares(self) -> list[Square]:
        return squares_typed(self.season.site, self.cleaned_data["squares"])

    def open_stage(self) -> Stage:
        """The chosen one, if it is open for all its squares; else Refused, with those that are."""
        stage: Stage = self.cleaned_data["stage"]
        fitting = stages_open_for_all(self.season, self.cleaned_data["squares"])
        if stage in fitting:
            return stage
        if not fitting:
            raise Refused(
                _now("These squares have no open stage in common. Ask a lead to open one."),
                field="squares",
            )
        raise Refused(
            _now("“%(stage)s” is not open for these squares; open there: %(others)s.")
            % {"stage": stage, "others": ", ".join(str(one) for one in fitting)},
            field="stage",
        )

    def says(self) -> DrawingEntry:
        names = ("frame_lies", "dive", "drawn_by")
        return DrawingEntry(**{name: self.cleaned_data[name] for name in names})

    def said_extent(self) -> str:
        """Empty where it is left to the check."""
        said: str = self.cleaned_data["extent"]
        return "" if said == LATER else said

    def _likely(self) -> Stage | None:
        """The latest stage of the squares that the page was opened for."""
        try:
            squares = squares_meant(self.season.site, self.initial.get("squares", ""))
        except Refused:
            return None
        return next(iter(stages_open_for_all(self.season, squares)), None)
