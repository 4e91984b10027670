"""The form for film on a coded board: which squares it shows."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from records.forms.fields import CountField, VersionField
from records.models import Season, Square, Stage
from records.queries.square_words import present_stages, squares_meant
from records.refusals import Refused


class FilmForm(forms.Form):
    version = VersionField()
    squares = forms.CharField(
        label=_("Square on the film"),
        max_length=200,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
        help_text=_("Of several, the lowest left one lies at the lower left of the board."),
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

    def clean_squares(self) -> list[Square]:
        try:
            return squares_meant(self.season.site, self.cleaned_data["squares"])
        except Refused as refusal:
            raise ValidationError(refusal.words) from refusal

    def stage(self) -> Stage:
        """The one that is open for all its squares; Refused in words."""
        squares = self.cleaned_data["squares"]
        stages = present_stages(self.season, squares)
        found = {stages.get(one.pk) for one in squares}
        stage = found.pop()
        if found or stage is None:
            raise Refused(
                _now("These squares have no open stage in common. Ask a lead to open one."),
                field="squares",
            )
        return stage
