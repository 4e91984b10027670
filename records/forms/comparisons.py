"""Features picked on drawing and photograph, as the page of a square sends them."""

import json
from typing import Any

from django import forms
from django.utils.translation import gettext as _

from records.forms.fields import RecordIdField
from records.models import Frame
from records.verbs.comparisons import Feature, Placed


class ComparisonForm(forms.Form):
    id = RecordIdField()
    frame = forms.ModelChoiceField(Frame.objects.none(), widget=forms.HiddenInput)
    drawing_placement = forms.UUIDField(widget=forms.HiddenInput)
    photo_placement = forms.UUIDField(widget=forms.HiddenInput)
    points = forms.CharField(widget=forms.HiddenInput)
    """A list of [x, y on the drawing, x, y on the photograph], m on the grid, as JSON."""

    def __init__(self, frames: Any, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field: Any = self.fields["frame"]
        field.queryset = frames

    def clean_points(self) -> list[Feature]:
        try:
            rows = json.loads(self.cleaned_data["points"])
            return [Feature(*(float(value) for value in row)) for row in rows]
        except (TypeError, ValueError) as error:
            words = _("The picked features did not arrive whole. Pick them again.")
            raise forms.ValidationError(words) from error

    @property
    def placed(self) -> Placed:
        said = self.cleaned_data
        return Placed(said["drawing_placement"], said["photo_placement"])
