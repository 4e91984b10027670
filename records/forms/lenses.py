"""Pictures of the printed board brought in, and a lens kept."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from records.forms.fields import RecordIdField
from records.forms.find_pictures import PICTURES, FilesInput
from records.forms.marks import BeginsForm
from records.models import LensFrom, Season
from records.verbs.lenses import LensEntry


class LensForm(BeginsForm):
    """A lens kept: what it is called, which of those found, and from when on."""

    id = RecordIdField()
    name = forms.CharField(
        label=_("What this lens is called"),
        max_length=120,
        help_text=_("Lens, port and focus, and when: for example 24 mm, flat port, 3 June."),
    )
    found_from = forms.ChoiceField(label=_("Found from"), widget=forms.RadioSelect)
    field_order = ("name", "found_from", "begins")

    def __init__(self, season: Season, sources: list[str], *args: Any, **options: Any) -> None:
        super().__init__(season, *args, **options)
        field: Any = self.fields["found_from"]
        field.choices = [one for one in LensFrom.choices if one[0] in sources]
        if sources:
            field.initial = sources[0]

    def entry(self) -> LensEntry:
        said = self.cleaned_data
        return LensEntry(
            name=said["name"],
            found_from=LensFrom(said["found_from"]),
            valid_from=said["valid_from"],
            lay_anew=said["lay_anew"],
        )


class ManyFilesField(forms.FileField):
    """Several files in one go: cleaned to a list."""

    def clean(self, data: Any, initial: Any = None) -> list[Any]:
        files = data if isinstance(data, list | tuple) else [data]
        return [super(ManyFilesField, self).clean(one, initial) for one in files]


class BoardFilesForm(forms.Form):
    """Pictures of the printed board."""

    pictures = ManyFilesField(
        label=_("Pictures of the board"),
        error_messages={"required": _("Choose the pictures' files.")},
        widget=FilesInput(attrs={"accept": PICTURES}),
    )
