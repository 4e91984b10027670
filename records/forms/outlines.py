"""The form of a traced feature, and the site's list of kinds."""

import re
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from records.forms.fields import RecordIdField, VersionField, WordsField
from records.models import Outline, OutlineKind, OutlineShape, Site, TracedOver, kinds_of

_SEPARATORS = re.compile(r"[\s;/]+")


class PointsField(WordsField):
    """One point a line: x and y on the grid in metres, decimal point or comma."""

    def clean(self, value: Any) -> Any:
        lines = [line.strip() for line in str(value or "").splitlines() if line.strip()]
        return [self._point(line) for line in lines]

    def _point(self, line: str) -> tuple[float, float]:
        parts = _SEPARATORS.split(line.replace("\u2212", "-").replace(",", "."))
        try:
            x, y = (float(part) for part in parts)
        except ValueError:
            x = y = float("nan")
        if not (abs(x) < 1e5 and abs(y) < 1e5):
            raise ValidationError(
                _("“%(line)s” is no point: write x and y in metres, for example 10.25 3.4.")
                % {"line": line[:40]}
            )
        return x, y


def told_points(points_m: Any) -> str:
    return "\n".join(f"{x:.4f} {y:.4f}" for x, y in points_m)


class OutlineForm(forms.Form):
    """`window`: the address of what lay under the tracing; `at`: the square in the middle."""

    id = RecordIdField()
    version = VersionField(required=False)
    at = forms.UUIDField(widget=forms.HiddenInput)
    traced_over = forms.ChoiceField(
        choices=[("", ""), *TracedOver.choices], required=False, widget=forms.HiddenInput
    )
    window = forms.CharField(required=False, widget=forms.HiddenInput)
    shape = forms.ChoiceField(
        label=gettext_lazy("Trace it as"),
        choices=OutlineShape.choices,
        initial=OutlineShape.AREA,
        widget=forms.RadioSelect,
    )
    kind = forms.ChoiceField(label=gettext_lazy("Kind"), widget=forms.RadioSelect)
    label = forms.CharField(
        label=gettext_lazy("Label"),
        max_length=60,
        required=False,
        help_text=gettext_lazy("How you call it, for example: frame 12, port side."),
    )
    remark = WordsField(label=gettext_lazy("Remark"), required=False, rows=2)
    points = PointsField(
        label=gettext_lazy("Points"),
        rows=6,
        help_text=gettext_lazy("One a line: x and y on the grid in metres, for example 10.25 3.4."),
    )

    def __init__(self, site: Site, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        choices = [(one.letters, f"{one.letters} {one.name}") for one in kinds_of(site)]
        self.fields["kind"].choices = choices  # type: ignore[attr-defined]

    @staticmethod
    def seen(outline: Outline) -> dict[str, Any]:
        names = ("version", "shape", "kind", "label", "remark", "traced_over")
        return {
            **{name: getattr(outline, name) for name in names},
            "id": outline.pk,
            "points": told_points(outline.points_m),
        }


class OutlineKindsForm(forms.Form):
    kinds = WordsField(
        label=gettext_lazy("Kinds"),
        rows=12,
        help_text=gettext_lazy("One a line: one or two letters, then the name."),
    )
    version = VersionField()

    def clean_kinds(self) -> list[tuple[str, str]]:
        lines = str(self.cleaned_data["kinds"]).splitlines()
        pairs = [line.strip().partition(" ") for line in lines if line.strip()]
        return [(letters, name) for letters, _blank, name in pairs]

    @staticmethod
    def seen(site: Site) -> dict[str, Any]:
        def line(one: OutlineKind) -> str:
            return f"{one.letters} {one.name}"

        return {"version": site.version, "kinds": "\n".join(map(line, kinds_of(site)))}
