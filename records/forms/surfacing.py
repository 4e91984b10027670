from django import forms
from django.utils.translation import gettext_lazy as _

from records.forms.fields import ClockField


class SurfaceForm(forms.Form):
    at = ClockField(
        label=_("Reached the surface"),
        required=False,
        help_text=_("Empty means now, by the laptop's clock."),
    )
