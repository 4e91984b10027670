"""What a person asks a set-up's optics: water, port, distance."""

from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from records.forms.fields import MetresField, MillimetresField, QuantityField
from records.intake.optics import OpticsAsked
from records.models import TowerSetUp

PORTS = [("flat", _("Flat")), ("dome", _("Dome, centred on the lens"))]
WATERS = [("sea", _("Sea")), ("fresh", _("Fresh"))]


class OpticsForm(forms.Form):
    """Asked by the page's address; the set-up itself answers what is not asked."""

    own_port = "flat"

    water = forms.ChoiceField(label=_("Water"), choices=WATERS)
    port = forms.ChoiceField(label=_("Port"), choices=PORTS)
    distance_m = MetresField(label=_("Distance"), min_value=Decimal("0.1"), max_value=20)
    pupil_mm = MillimetresField(
        label=_("Lens behind the port; a dome's radius"), required=False, max_value=500
    )
    f_number = QuantityField(label=_("f-number"), required=False, min_value=1, max_value=64)
    wanted_width_m = MetresField(
        label=_("Distance for a width of"), required=False, min_value=Decimal("0.05"), max_value=50
    )

    @classmethod
    def asked_of(cls, set_up: TowerSetUp, data: Any) -> "OpticsForm":
        likely = {
            "water": "sea",
            "port": _port_of(set_up),
            "distance_m": str(set_up.height_m),
        }
        form = cls({**likely, **data.dict()})
        form.own_port = likely["port"]
        return form

    def asked(self) -> OpticsAsked:
        said = self.cleaned_data
        return OpticsAsked(
            distance_m=float(said["distance_m"]),
            is_dome=said["port"] == "dome",
            is_sea=said["water"] == "sea",
            is_own_port=said["port"] == self.own_port,
            pupil_behind_port_m=float(said["pupil_mm"] or 0) / 1000,
            f_number=_number(said["f_number"]),
            wanted_width_m=_number(said["wanted_width_m"]),
        )


def _port_of(set_up: TowerSetUp) -> str:
    return "dome" if "dome" in set_up.port.casefold() else "flat"


def _number(value: Any) -> float | None:
    return None if value is None else float(value)
