"""Signing in, and choosing a password. None of these forms is kept as a draft."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from records.forms.fields import RecordIdField


def _new_password(label: Any, help_text: Any = "") -> forms.CharField:
    return forms.CharField(
        label=label,
        help_text=help_text,
        max_length=200,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )


class PasswordForm(forms.Form):
    username = forms.CharField(
        label=_("Sign-in name"),
        max_length=80,
        widget=forms.TextInput(
            attrs={"autocomplete": "username", "autocapitalize": "none", "spellcheck": "false"}
        ),
    )
    password = forms.CharField(
        label=_("Password"),
        max_length=200,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )


class PinForm(forms.Form):
    initials = forms.CharField(
        label=_("Your initials"),
        max_length=6,
        widget=forms.TextInput(
            attrs={
                "class": "big",
                "autocomplete": "off",
                "autocapitalize": "characters",
                "spellcheck": "false",
            }
        ),
    )
    pin = forms.CharField(
        label=_("Your PIN"),
        max_length=8,
        widget=forms.PasswordInput(
            attrs={"class": "big", "inputmode": "numeric", "autocomplete": "off"}
        ),
    )


class ChosenPasswordForm(forms.Form):
    """A password typed twice, since it cannot be seen."""

    password = _new_password(
        _("Password"), _("At least ten characters; four unrelated words make a good one.")
    )
    again = _new_password(_("The same password once more"))

    def clean_again(self) -> str:
        again = str(self.cleaned_data["again"])
        if again != self.cleaned_data.get("password", again):
            raise forms.ValidationError(_("The two passwords differ. Type both again."))
        return again


class FirstAccountForm(ChosenPasswordForm):
    id = RecordIdField()
    name = forms.CharField(
        label=_("Your name"),
        max_length=120,
        help_text=_("As it shall stand beside what you record."),
        widget=forms.TextInput(attrs={"autocomplete": "name"}),
    )
    sign_in_name = forms.CharField(
        label=_("Sign-in name"),
        max_length=80,
        help_text=_("Short; capitals do not matter."),
        widget=forms.TextInput(
            attrs={"autocomplete": "username", "autocapitalize": "none", "spellcheck": "false"}
        ),
    )
    field_order = ("name", "sign_in_name", "password", "again")


class OwnPasswordForm(ChosenPasswordForm):
    old = forms.CharField(
        label=_("Your password until now"),
        max_length=200,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )
    field_order = ("old", "password", "again")
