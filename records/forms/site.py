"""Forms for a site and its tie to the world."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from records.forms.fields import DegreesField, RecordIdField, VersionField, WordsField
from records.models import Site, SiteAnchor


class SiteForm(forms.Form):
    name = forms.CharField(label=_("Name of the site"), max_length=120)
    description = WordsField(
        label=_("What lies here"),
        required=False,
        help_text=_("For every reader: leave out where it is."),
    )
    object_names = WordsField(
        label=_("Object names"),
        rows=8,
        help_text=_("One a line. Finds are called by these."),
    )
    id = RecordIdField()
    version = VersionField()

    def clean_object_names(self) -> list[str]:
        return str(self.cleaned_data["object_names"]).splitlines()

    @staticmethod
    def seen(site: Site) -> dict[str, Any]:
        return {
            "id": site.pk,
            "version": site.version,
            "name": site.name,
            "description": site.description,
            "object_names": "\n".join(site.object_names),
        }


class NewSiteForm(forms.Form):
    name = forms.CharField(label=_("Name of the site"), max_length=120)
    code = forms.SlugField(
        label=_("Site code"),
        max_length=20,
        help_text=_("Letters and digits, for example heron. It stands in addresses and stays."),
        widget=forms.TextInput(attrs={"autocapitalize": "none", "autocomplete": "off"}),
    )
    initials = forms.CharField(
        label=_("Your initials on this site"),
        max_length=6,
        help_text=_("You become its director."),
        widget=forms.TextInput(attrs={"autocapitalize": "characters", "autocomplete": "off"}),
    )
    description = WordsField(
        label=_("What lies here"),
        required=False,
        help_text=_("For every reader: leave out where it is."),
    )
    id = RecordIdField()


class AnchorForm(forms.Form):
    latitude_deg = DegreesField(
        label=_("Latitude of the site's origin"),
        min_value=-90,
        max_value=90,
        decimal_places=8,
        max_digits=10,
        widget=forms.TextInput(attrs={"class": "long"}),
        help_text=_("Decimal degrees; south of the equator with a minus."),
    )
    longitude_deg = DegreesField(
        label=_("Longitude of the site's origin"),
        min_value=-180,
        max_value=180,
        decimal_places=8,
        max_digits=11,
        widget=forms.TextInput(attrs={"class": "long"}),
        help_text=_("Decimal degrees; west of Greenwich with a minus."),
    )
    site_north_deg = DegreesField(
        label=_("Site north, clockwise from true north"),
        min_value=-360,
        max_value=360,
        decimal_places=3,
        initial=0,
        help_text=_("0 if the site's N axis points to true north."),
    )
    datum_note = forms.CharField(
        label=_("Datum and how it was fixed"),
        max_length=200,
        required=False,
        help_text=_("For example: WGS 84, mean of 20 minutes above the origin peg."),
    )
    replaces = forms.UUIDField(widget=forms.HiddenInput, required=False)
    id = RecordIdField()

    def __init__(self, *args: Any, former: SiteAnchor | None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if former is not None:
            self.fields["reason"] = WordsField(
                label=_("Why the former anchor no longer stands"), rows=2
            )

    @staticmethod
    def seen(anchor: SiteAnchor | None) -> dict[str, Any]:
        if anchor is None:
            return {}
        return {
            "replaces": anchor.pk,
            "latitude_deg": round(anchor.latitude_deg, 8),
            "longitude_deg": round(anchor.longitude_deg, 8),
            "site_north_deg": round(anchor.site_north_deg, 3),
            "datum_note": anchor.datum_note,
        }
