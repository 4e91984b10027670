"""Forms for number blocks."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from records.forms.fields import CountField, RecordIdField
from records.models import NumberEndKind, NumberKind
from records.verbs.blocks import GIVEN_AHEAD, BlockEntry


class BlockForm(forms.Form):
    id = RecordIdField()
    kind = forms.ChoiceField(
        label=_("Numbers for"),
        choices=[(kind.value, kind.label) for kind in GIVEN_AHEAD],
        widget=forms.RadioSelect,
        initial=NumberKind.FIND.value,
    )
    first = CountField(label=_("First number"), min_value=1)
    last = CountField(label=_("Last number"), min_value=1)
    given_to = forms.CharField(label=_("Given to"), max_length=120)
    purpose = forms.CharField(label=_("What for"), max_length=200, required=False)

    def says(self) -> BlockEntry:
        said: dict[str, Any] = {k: v for k, v in self.cleaned_data.items() if k != "id"}
        return BlockEntry(**said)


class EndForm(forms.Form):
    first = CountField(label=_("From number"), min_value=1)
    last = CountField(label=_("To number"), min_value=1, required=False)
    end = forms.ChoiceField(
        label=_("What became of them"),
        choices=[
            (NumberEndKind.RETURNED.value, NumberEndKind.RETURNED.label),
            (NumberEndKind.VOID.value, NumberEndKind.VOID.label),
        ],
        widget=forms.RadioSelect,
    )
    reason = forms.CharField(
        label=_("Why"),
        max_length=200,
        required=False,
        help_text=_("A void number needs its reason: lost, spoilt, written twice."),
    )
