"""The form of a find's photographs: one or several files, and what holds for all of them."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _
from django.utils.translation import ngettext_lazy

from records.models import Diver, Season

PICTURES = "image/*,.jpg,.jpeg,.png,.tif,.tiff,.heic"
MOST_FILES = 20


class FilesInput(forms.FileInput):
    allow_multiple_selected = True


class FilesField(forms.FileField):
    """One or several files; cleaned to a list."""

    def __init__(self, **options: Any) -> None:
        options.setdefault("widget", FilesInput(attrs={"accept": PICTURES}))
        super().__init__(**options)
        self.error_messages["required"] = _("Choose a picture, or take one now.")

    def clean(self, data: Any, initial: Any = None) -> Any:
        given = data if isinstance(data, list) else [data] if data else []
        if not given and self.required:
            raise forms.ValidationError(self.error_messages["required"], code="required")
        if len(given) > MOST_FILES:
            raise forms.ValidationError(
                ngettext_lazy(
                    "At most %(most)s file at a time; send the others after these.",
                    "At most %(most)s files at a time; send the others after these.",
                    MOST_FILES,
                )
                % {"most": MOST_FILES}
            )
        return given


class FindPicturesForm(forms.Form):
    pictures = FilesField(label=_("Photographs of the find"))
    facing = forms.CharField(
        label=_("Facing"), required=False, max_length=40, help_text=_("Which way, or which side.")
    )
    scale_words = forms.CharField(label=_("Scale in the picture"), required=False, max_length=60)
    photographer: Any = forms.ModelChoiceField(
        None, label=_("Photographer"), required=False, empty_label="–"
    )

    def __init__(self, season: Season, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        divers = Diver.objects.standing().filter(site=season.site_id)
        fields: Any = self.fields
        fields["photographer"].queryset = divers


class AwayForm(forms.Form):
    reason = forms.CharField(
        label=_("Why it does not belong here"),
        max_length=200,
        help_text=_("As a photograph of the season it stays, with its number."),
    )
