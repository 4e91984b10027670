"""Forms for people, their PINs, tablets, divers and papers."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from records.forms.fields import DayField, RecordIdField, VersionField, WordsField
from records.models import Account, Diver, DiverPaper, Membership, PaperKind, Role, Site

ROLES = [
    (Role.READER, _("Reader: sees the record, without positions and personal data")),
    (Role.CREW, _("Crew: logs dives, brings in pictures, finds and measurements")),
    (Role.LEAD, _("Recording lead: also checks, voids, says what is wanted")),
    (Role.DIRECTOR, _("Director: also site, season, people, closing")),
]


def _sign_in_name(**options: Any) -> forms.CharField:
    attrs = {"autocomplete": "off", "autocapitalize": "none", "spellcheck": "false"}
    return forms.CharField(
        label=_("Sign-in name"), max_length=80, widget=forms.TextInput(attrs=attrs), **options
    )


def _initials() -> forms.CharField:
    attrs = {"autocomplete": "off", "autocapitalize": "characters", "spellcheck": "false"}
    return forms.CharField(
        label=_("Initials"),
        max_length=6,
        help_text=_("Two or three letters, no two people of the site alike."),
        widget=forms.TextInput(attrs=attrs),
    )


def _name() -> forms.CharField:
    return forms.CharField(
        label=_("Name"), max_length=120, widget=forms.TextInput(attrs={"autocomplete": "off"})
    )


class RoleForm(forms.Form):
    role = forms.ChoiceField(label=_("Role"), choices=ROLES, widget=forms.RadioSelect)
    initials = _initials()
    id = RecordIdField()


class NewPersonForm(RoleForm):
    name = _name()
    sign_in_name = _sign_in_name(help_text=_("Short; capitals do not matter."))
    field_order = ("name", "initials", "role", "sign_in_name")


class KnownPersonForm(RoleForm):
    sign_in_name = _sign_in_name(help_text=_("As the person types it at their other site."))
    field_order = ("sign_in_name", "initials", "role")


class MemberForm(RoleForm):
    name = _name()
    version = VersionField()
    field_order = ("name", "initials", "role")

    @staticmethod
    def seen(member: Membership) -> dict[str, Any]:
        return {
            "id": member.pk,
            "version": member.version,
            "name": member.account.name,
            "initials": member.initials,
            "role": member.role,
        }


class NewPinForm(forms.Form):
    pin = forms.CharField(
        label=_("New PIN"),
        max_length=8,
        help_text=_("Four to eight digits. Let the person type it, so that only they know it."),
        widget=forms.PasswordInput(
            attrs={"class": "big", "inputmode": "numeric", "autocomplete": "off"}
        ),
    )
    again = forms.CharField(
        label=_("The same PIN once more"),
        max_length=8,
        widget=forms.PasswordInput(
            attrs={"class": "big", "inputmode": "numeric", "autocomplete": "off"}
        ),
    )

    def clean_again(self) -> str:
        again = str(self.cleaned_data["again"])
        if again != self.cleaned_data.get("pin", again):
            raise forms.ValidationError(_("The two PINs differ. Type both again."))
        return again


class ReasonForm(forms.Form):
    """Why a record is made void, or a thing is taken back."""

    reason = WordsField(label=_("Reason"), rows=2, help_text=_("One sentence; it is kept."))


class AccountForm(forms.Form):
    name = _name()
    is_administrator = forms.BooleanField(
        label=_("Administrator: makes sites and looks after accounts"), required=False
    )
    is_active = forms.BooleanField(label=_("May sign in"), required=False)
    version = VersionField()

    @staticmethod
    def seen(account: Account) -> dict[str, Any]:
        return {
            "version": account.version,
            "name": account.name,
            "is_administrator": account.is_administrator,
            "is_active": account.is_active,
        }


class TabletForm(forms.Form):
    name = forms.CharField(
        label=_("Name of this tablet"),
        max_length=60,
        help_text=_("As it is written on its case, for example Shed 2."),
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    id = RecordIdField()


class DiverForm(forms.Form):
    name = _name()
    initials = _initials()
    account = forms.ModelChoiceField(
        label=_("Account"),
        queryset=Account.objects.none(),
        required=False,
        empty_label=_("none"),
        help_text=_("If the diver also signs in here."),
    )
    id = RecordIdField()
    version = VersionField(required=False)

    def __init__(self, *args: Any, site: Site, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        members = Membership.objects.standing().filter(site=site)
        choices: Any = self.fields["account"]
        choices.queryset = Account.objects.filter(pk__in=members.values("account"))

    @staticmethod
    def seen(diver: Diver) -> dict[str, Any]:
        return {
            "id": diver.pk,
            "version": diver.version,
            "name": diver.name,
            "initials": diver.initials,
            "account": diver.account_id,
        }


class PaperForm(forms.Form):
    kind = forms.ChoiceField(label=_("Kind"), choices=PaperKind.choices, widget=forms.RadioSelect)
    reference = forms.CharField(
        label=_("Reference"),
        max_length=120,
        required=False,
        help_text=_("Number or grade, and who issued it."),
    )
    issued_on = DayField(label=_("Issued on"), required=False)
    expires_on = DayField(label=_("Valid until"), required=False)
    note = WordsField(label=_("Note"), rows=2, required=False)
    id = RecordIdField()
    version = VersionField(required=False)

    @staticmethod
    def seen(paper: DiverPaper) -> dict[str, Any]:
        return {
            "id": paper.pk,
            "version": paper.version,
            "kind": paper.kind,
            "reference": paper.reference,
            "issued_on": paper.issued_on,
            "expires_on": paper.expires_on,
            "note": paper.note,
        }
