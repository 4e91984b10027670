from typing import Any

from django import forms
from django.conf import settings
from django.utils.translation import gettext_lazy as _


class SecondCopyForm(forms.Form):
    """A shed types the folder; on a server its keeper has named the folders."""

    folder = forms.CharField(
        label=_("Folder on the second drive"),
        max_length=400,
        help_text=_(
            "Its whole path on the machine that keeps the record, like /media/blue-drive or E:\\."
        ),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if settings.ON_SERVER:
            self.fields["folder"] = forms.ChoiceField(
                label=_("Folder on the second drive"),
                choices=[(one, one) for one in settings.SECOND_COPY_FOLDERS],
            )
