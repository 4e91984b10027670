"""Points of a grid seen in a photograph: by name, or by x and y."""

import math
from typing import Any, cast

from django import forms
from django.core.exceptions import ValidationError
from django.utils.formats import localize
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from records.forms.fields import MetresField, RecordIdField, VersionField
from records.forms.marks import PointForm, points_of
from records.models import Grid, Season, Stage
from records.queries.known_points import KnownPoints
from records.refusals import Refused
from records.verbs.placing import MarkEntry

SAME_M = 0.001


class GridPointForm(PointForm):
    """A point whose name says where it lies needs no x and y."""

    x_m = MetresField(
        label=_("x on the grid"), required=False, min_value=-5000, max_value=5000, decimal_places=3
    )
    y_m = MetresField(
        label=_("y on the grid"), required=False, min_value=-5000, max_value=5000, decimal_places=3
    )

    field_order = ("name", "x_m", "y_m", "u", "v")

    def clean(self) -> dict[str, Any]:
        said = super().clean()
        if (said.get("x_m") is None) != (said.get("y_m") is None) and not self.errors:
            raise ValidationError(_("Give both x and y, or none."))
        return said

    def mark(self, known: KnownPoints) -> MarkEntry:
        """Raises Refused where neither the name nor x and y say where it lies."""
        said = self.cleaned_data
        x_m, y_m = self._place(known)
        return MarkEntry(float(said["u"]), float(said["v"]), x_m, y_m, said["name"])

    def _place(self, known: KnownPoints) -> tuple[float, float]:
        said = self.cleaned_data
        if said["x_m"] is None:
            if not said["name"]:
                raise Refused(gettext("Say which point this is, or give its x and y."))
            return known.at(said["name"])
        typed = float(said["x_m"]), float(said["y_m"])
        try:
            by_name = known.at(said["name"])
        except Refused:
            return typed  # a name of one's own
        if math.dist(typed, by_name) > SAME_M:
            raise Refused(
                gettext(
                    "%(name)s lies at x %(x)s, y %(y)s m. Leave x and y empty, or give this point "
                    "another name."
                )
                % {"name": said["name"], "x": localize(by_name[0]), "y": localize(by_name[1])}
            )
        return by_name


class PhotoPointsForm(forms.Form):
    """On which grid a photograph lies and in which stage it counts; a tower frame's run says it."""

    id = RecordIdField()
    version = VersionField()
    grid: Any = forms.ModelChoiceField(Grid.objects.none(), label=_("Grid"), empty_label=None)
    stage: Any = forms.ModelChoiceField(
        Stage.objects.none(), label=_("It counts in the stage"), empty_label=None
    )
    more = forms.CharField(
        label=_("Squares or finds to put on the list"),
        max_length=100,
        required=False,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
        help_text=_("For example: K7 L7, or find 12. The corners of squares come by themselves."),
    )

    def __init__(self, season: Season, *args: Any, of_tower: bool, **options: Any) -> None:
        super().__init__(*args, **options)
        fields = cast(dict[str, Any], self.fields)
        if of_tower:
            del fields["grid"], fields["stage"]
            return
        fields["grid"].queryset = grids = Grid.objects.standing().filter(site=season.site_id)
        fields["stage"].queryset = Stage.objects.standing().filter(season=season).order_by("-order")
        if len(grids) == 1:
            fields["grid"].widget = forms.HiddenInput()
            fields["grid"].initial = grids[0].pk


def grid_marks(rows: Any, known: KnownPoints) -> list[MarkEntry]:
    """The marks of the rows that are seen in the picture; what is amiss stands in its row."""
    marks = []
    for row in rows:
        if not row.is_seen:
            continue
        try:
            marks.append(row.mark(known))
        except Refused as refusal:
            row.add_error(None, refusal.words)
    return marks


GridPoints: Any = points_of(GridPointForm)
