"""Points seen in a picture whose place is known: corners, and rows of further points."""

import datetime
from collections.abc import Mapping
from decimal import Decimal
from typing import Any, cast

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from records.forms.dive_times import left_at
from records.forms.fields import (
    ClockField,
    DayField,
    QuantityField,
    RecordIdField,
)
from records.forms.find_pictures import PICTURES
from records.models import Picture, Season
from records.refusals import Refused
from records.verbs.placing import MarkEntry
from records.verbs.set_up_versions import BaseEntry

MOST_POINTS = 16
CORNERS: Mapping[str, Any] = {
    "c0": _("lower left"),
    "c1": _("lower right"),
    "c2": _("upper right"),
    "c3": _("upper left"),
}
"""In the order of `survey.grid.corners`: nearest −x −y, +x −y, +x +y, −x +y."""
AS_SEEN = ("c3", "c2", "c0", "c1")
SIGNS = ((-0.5, -0.5), (0.5, -0.5), (0.5, 0.5), (-0.5, 0.5))


class PixelField(QuantityField):
    """A place in the full, upright picture."""

    unit = _("px")
    decimals = 2
    default_min = Decimal("-0.5")

    def __init__(self, **options: Any) -> None:
        options.setdefault("required", False)
        super().__init__(**options)


class CentimetresField(QuantityField):
    unit = _("cm")
    decimals = 1
    default_min = 0

    def __init__(self, **options: Any) -> None:
        options.setdefault("required", False)
        super().__init__(**options)


class CornersForm(forms.Form):
    """The four corners of a square or a base, each by its place in the picture."""

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        for name in CORNERS:
            for axis, words in (("u", _("From the left")), ("v", _("From the top"))):
                self.fields[f"{name}_{axis}"] = PixelField(label=words)

    def corner_fields(self) -> list[tuple[Any, Any, Any]]:
        """Each corner's label with its two fields, in the grid's order."""
        return [(label, self[f"{name}_u"], self[f"{name}_v"]) for name, label in CORNERS.items()]

    def corners_as_seen(self) -> list[tuple[Any, Any, Any]]:
        """As `corner_fields`, the upper ones first."""
        return [(CORNERS[name], self[f"{name}_u"], self[f"{name}_v"]) for name in AS_SEEN]

    def corners_px(self) -> list[tuple[float, float]]:
        said = self.cleaned_data
        return [(float(said[f"{name}_u"]), float(said[f"{name}_v"])) for name in CORNERS]

    def clean(self) -> dict[str, Any]:
        said = super().clean() or {}
        missing = [
            str(label)
            for name, label in CORNERS.items()
            if said.get(f"{name}_u") is None or said.get(f"{name}_v") is None
        ]
        if missing and not self.errors:
            raise ValidationError(
                _("Still to be marked: %(corners)s."), params={"corners": "; ".join(missing)}
            )
        return said


class PointForm(forms.Form):
    """A point by its name, its place on the plane, and where it is seen."""

    name = forms.CharField(
        label=_("Which point"),
        max_length=40,
        required=False,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    u = PixelField(label=_("From the left"))
    v = PixelField(label=_("From the top"))

    @property
    def is_seen(self) -> bool:
        return self.cleaned_data.get("u") is not None

    def clean(self) -> dict[str, Any]:
        said = super().clean() or {}
        if (said.get("u") is None) != (said.get("v") is None) and not self.errors:
            raise ValidationError(_("Give both numbers of a place in the picture, or none."))
        return said


class BasePointForm(PointForm):
    x_cm = CentimetresField(label=_("Along x"), min_value=-1000, max_value=1000, decimal_places=2)
    y_cm = CentimetresField(label=_("Along y"), min_value=-1000, max_value=1000, decimal_places=2)

    field_order = ("name", "x_cm", "y_cm", "u", "v")

    def clean(self) -> dict[str, Any]:
        said = super().clean()
        placed = said.get("x_cm") is not None and said.get("y_cm") is not None
        if self.is_seen and not placed and not self.errors:
            raise ValidationError(_("Say how far this point lies from the base's middle."))
        return said

    def mark(self) -> MarkEntry:
        said = self.cleaned_data
        u, v, x_cm, y_cm = (float(said[name]) for name in ("u", "v", "x_cm", "y_cm"))
        return MarkEntry(u, v, x_cm / 100, y_cm / 100, said["name"])


class Begins:
    FIRST, NOW, TIME = "first", "now", "time"


class BeginsForm(forms.Form):
    """From when on a version of a set-up holds, and whether frames are laid anew with it."""

    begins = forms.ChoiceField(
        label=_("This holds"),
        choices=[
            (Begins.FIRST, _("from the beginning of the set-up's use")),
            (Begins.NOW, _("from now on: something was moved, and no frame was taken since")),
            (Begins.TIME, _("from a time on: something was moved then")),
        ],
        widget=forms.RadioSelect,
        initial=Begins.FIRST,
    )
    begins_on = DayField(label=_("Moved on"), required=False)
    begins_at = ClockField(label=_("at"), required=False)
    lay_anew = forms.BooleanField(
        label=_("Lay frames of this season that are accepted already anew, too"),
        required=False,
        help_text=_(
            "Else they keep the place they have. What they cover of the squares is counted again."
        ),
    )

    def __init__(self, season: Season, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self.season = season
        if not self.is_bound:
            self.fields["begins_on"].initial = season.today()

    def clean(self) -> dict[str, Any]:
        said = super().clean() or {}
        said["valid_from"] = None if self.errors else self._valid_from(said)
        return said

    def _valid_from(self, said: dict[str, Any]) -> datetime.datetime | None:
        if said["begins"] == Begins.FIRST:
            return None
        if said["begins"] == Begins.NOW:
            return self.season.local()
        if said.get("begins_on") is None or said.get("begins_at") is None:
            self.add_error("begins_at", gettext("Say on which day and at what time it was moved."))
            return None
        try:
            return left_at(said["begins_on"], said["begins_at"], self.season.tz, hour="first")
        except Refused as refusal:
            self.add_error("begins_at", refusal.words)
            return None


class BaseForm(BeginsForm, CornersForm):
    """The base of a tower in one of its frames, and from when on it holds."""

    id = RecordIdField()
    width_cm = CentimetresField(
        label=_("Base, from left to right"), required=True, min_value=5, max_value=1000
    )
    depth_cm = CentimetresField(
        label=_("Base, from bottom to top"), required=True, min_value=5, max_value=1000
    )

    def entry(self, picture: Picture, points: Any) -> BaseEntry:
        said = self.cleaned_data
        width_m, depth_m = float(said["width_cm"]) / 100, float(said["depth_cm"]) / 100
        corners = [
            MarkEntry(u, v, sx * width_m, sy * depth_m, str(label))
            for (u, v), (sx, sy), label in zip(
                self.corners_px(), SIGNS, CORNERS.values(), strict=True
            )
        ]
        further = [row.mark() for row in points if row.is_seen]
        return BaseEntry(
            picture=picture,
            width_m=width_m,
            depth_m=depth_m,
            marks=[*corners, *further],
            valid_from=said["valid_from"],
            lay_anew=said["lay_anew"],
        )


class FrameFileForm(forms.Form):
    """A frame brought in for this purpose only."""

    file = forms.FileField(
        label=_("A frame taken with this set-up"),
        error_messages={"required": _("Choose the frame's file.")},
        widget=forms.FileInput(attrs={"accept": PICTURES}),
    )


def points_of(form: Any, extra: int = MOST_POINTS) -> Any:
    return cast(
        Any,
        forms.formset_factory(form, extra=extra, max_num=MOST_POINTS, absolute_max=MOST_POINTS),
    )


BasePoints: Any = points_of(BasePointForm)
