"""Forms of drawings: what is said of a sheet, and where its squares lie on it."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any, cast

from django import forms
from django.core.exceptions import ValidationError
from django.utils.formats import date_format
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from records.forms.fields import (
    CountField,
    RecordIdField,
    VersionField,
    WordsField,
)
from records.forms.marks import CentimetresField, CornersForm, PixelField
from records.models import (
    Dive,
    Diver,
    Drawing,
    DrawingKind,
    DrawnSquare,
    Extent,
    FrameLies,
    Picture,
    RedoReason,
    Season,
    Square,
    Stage,
)
from records.queries.drawings import drawing_shown
from records.queries.pictures import with_making
from records.queries.square_words import squares_meant, told_squares
from records.refusals import Refused
from records.verbs.drawings import DrawingEntry
from records.verbs.drawn_squares import Crossing, SquareMarks
from records.verbs.extents import ExtentEntry

FRAME_LIES = [
    (FrameLies.LEVEL, _("level; on a wall upright")),
    (FrameLies.ON_THE_SLOPE, FrameLies.ON_THE_SLOPE.label),
]
PICTURES = "image/*,.jpg,.jpeg,.png,.tif,.tiff,.heic"
STRENGTHS = {
    "0": _("none"),
    "1": _("faint"),
    "2": _("half"),
    "3": _("strong"),
    "4": _("alone"),
}
UNDER = tuple(STRENGTHS)  # how strongly the photograph shows under the drawing
FAINT = UNDER[1]  # until somebody chooses otherwise


class DiveChoice(forms.ModelChoiceField):  # type: ignore[type-arg]
    def label_from_instance(self, dive: Any) -> str:
        return f"{dive.n} · {date_format(dive.day.date, 'j F')}"


class SquaresField(forms.CharField):
    """Squares of the site by their labels; cleaned to the labels as the record writes them."""

    def __init__(self, **options: Any) -> None:
        self.site: Any = None
        options.setdefault("widget", forms.TextInput(attrs={"autocomplete": "off"}))
        super().__init__(max_length=200, **options)

    def clean(self, value: Any) -> str:
        text = super().clean(value)
        if not text:
            return ""
        try:
            return told_squares(squares_meant(self.site, text))
        except Refused as refusal:
            raise ValidationError(refusal.words) from refusal


class SheetField(forms.FileField):
    """Demanded, though it may have been kept before: the form asks which picture it became."""

    def clean(self, data: Any, initial: Any = None) -> Any:
        return data or None


class DrawingForm(forms.Form):
    """What is said of a sheet."""

    squares = SquaresField(
        label=_("Squares on the sheet"),
        required=False,
        help_text=_("As written on it: K7, or K7 L7. Leave it empty for a section or a sketch."),
    )
    dive: Any = DiveChoice(None, label=_("Drawn on dive"), required=False, empty_label="–")
    drawn_by: Any = forms.ModelChoiceField(
        None, label=_("Drawn by"), required=False, empty_label="–"
    )
    kind = forms.ChoiceField(
        label=_("Kind"),
        choices=DrawingKind.choices,
        initial=DrawingKind.PLAN,
        widget=forms.RadioSelect,
    )
    scale = CountField(label=_("Scale: 1 to"), min_value=1, max_value=1000, initial=10)
    frame_lies = forms.ChoiceField(
        label=_("The frame lay"),
        choices=FRAME_LIES,
        initial=FrameLies.LEVEL,
        widget=forms.RadioSelect,
    )
    note = WordsField(label=_("Note"), required=False, rows=2)
    inked_from: Any = forms.ModelChoiceField(
        None,
        label=_("Inked from"),
        required=False,
        empty_label=_("this is a field drawing"),
        help_text=_("For a fair copy made ashore: the field drawing it was made from."),
    )

    def __init__(self, season: Season, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        fields = cast(dict[str, Any], self.fields)
        fields["squares"].site = season.site
        dives = Dive.objects.standing().filter(season=season).select_related("day")
        fields["dive"].queryset = dives.order_by("-n")
        fields["drawn_by"].queryset = Diver.objects.standing().filter(site=season.site_id)
        field_drawings = Drawing.objects.standing().filter(season=season, inked_from=None)
        fields["inked_from"].queryset = field_drawings.select_related("season")

    def says(self) -> DrawingEntry:
        said = self.cleaned_data
        names = ("kind", "scale", "frame_lies", "dive", "drawn_by", "note", "inked_from")
        return DrawingEntry(
            **{name: said[name] for name in names}, squares_on_sheet=said["squares"]
        )


class NewDrawingForm(DrawingForm):
    """The sheet itself is kept as soon as it arrives; `picture` says which it became."""

    id = RecordIdField()
    picture: Any = forms.ModelChoiceField(None, required=False, widget=forms.HiddenInput)
    file = SheetField(
        label=_("The sheet: a scan, or a photograph taken straight from above"),
        widget=forms.FileInput(attrs={"accept": PICTURES}),
    )
    tag = CountField(
        label=_("Number written on the sheet"),
        required=False,
        min_value=1,
        help_text=_("Only if the sheet was numbered ahead from a block; else leave it empty."),
    )

    field_order = ("file", "squares", "dive", "drawn_by")

    def __init__(self, season: Season, *args: Any, **options: Any) -> None:
        super().__init__(season, *args, **options)
        of_site = Picture.objects.standing().filter(site=season.site_id)
        self.pictures = with_making(of_site.select_related("file"))
        cast(Any, self.fields["picture"]).queryset = self.pictures

    def kept_picture(self) -> Picture | None:
        """The sheet that is kept already, whether or not the rest of the form is right."""
        try:
            found: Picture | None = self.fields["picture"].clean(self["picture"].value())
        except ValidationError:
            return None
        return found

    def clean(self) -> dict[str, Any]:
        said = super().clean() or {}
        if not said.get("picture"):
            self.add_error("file", _("Choose the scan or photograph of the sheet."))
        return said


class EditDrawingForm(DrawingForm):
    """It also asks how much is drawn of each square that waits for its check."""

    version = VersionField()

    def __init__(self, drawing: Drawing, *args: Any, **options: Any) -> None:
        names = ("kind", "scale", "frame_lies", "dive", "drawn_by", "note", "inked_from", "version")
        seen: dict[str, Any] = {name: getattr(drawing, name) for name in names}
        seen["squares"] = drawing.squares_on_sheet
        super().__init__(drawing.season, *args, initial=seen, **options)
        self.waiting = [
            one.drawn for one in drawing_shown(drawing, may_lead=True).squares if one.waits
        ]
        for drawn in self.waiting:
            self.fields[f"extent_{drawn.pk}"] = _extent_field(drawn)
            self.fields[f"seen_{drawn.pk}"] = forms.CharField(
                required=False, initial=drawn.extent, widget=forms.HiddenInput
            )
        extents = [f"extent_{drawn.pk}" for drawn in self.waiting]
        self.order_fields(["squares", "dive", "drawn_by", "kind", "scale", "frame_lies", *extents])

    def extents(self) -> list[ExtentEntry]:
        said = self.cleaned_data
        return [
            ExtentEntry(drawn.pk, said[f"extent_{drawn.pk}"], said[f"seen_{drawn.pk}"])
            for drawn in self.waiting
        ]


def _extent_field(drawn: DrawnSquare) -> forms.ChoiceField:
    """What is said already may be mended, not taken back."""
    unsaid = [] if drawn.extent else [("", _("not said yet: the check asks"))]
    return forms.ChoiceField(
        label=_now("How much of %(square)s is drawn") % {"square": drawn.square},
        choices=[*Extent.choices, *unsaid],
        initial=drawn.extent,
        widget=forms.RadioSelect,
        required=bool(drawn.extent),
    )


class CrossingForm(forms.Form):
    """A crossing of the frame's strings, from the corner nearest −x −y."""

    x_cm = CentimetresField(label=_("Along x"))
    y_cm = CentimetresField(label=_("Along y"))
    u = PixelField(label=_("From the left"))
    v = PixelField(label=_("From the top"))

    def clean(self) -> dict[str, Any]:
        said = super().clean() or {}
        given = [said.get(name) is not None for name in self.fields]
        if any(given) and not all(given) and not self.errors:
            raise ValidationError(_("Give all four numbers of a crossing, or none."))
        return said


class MarksForm(CornersForm):
    """Which square, in which stage, how much of it, and its four corners."""

    id = RecordIdField()
    version = VersionField(required=False)
    stage: Any = forms.ModelChoiceField(
        None, label=_("Stage"), widget=forms.RadioSelect, empty_label=None
    )
    extent = forms.ChoiceField(label=_("Drawn"), choices=Extent.choices, widget=forms.RadioSelect)

    def __init__(self, season: Season, square: Square, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        stages = Stage.objects.standing().filter(
            season=season, goals__square=square, goals__voided_at=None
        )
        cast(Any, self.fields["stage"]).queryset = stages.order_by("-order")

    def marks(self, crossings: Any) -> SquareMarks:
        """The corners with what the rows of crossings say."""
        marked = [row for row in crossings.cleaned_data if row.get("u") is not None]
        return SquareMarks(self.corners_px(), [_crossing(row) for row in marked])


def _crossing(row: Mapping[str, Decimal]) -> Crossing:
    u, v, x_cm, y_cm = (float(row[name]) for name in ("u", "v", "x_cm", "y_cm"))
    return Crossing(u, v, x_cm / 100, y_cm / 100)


CrossingForms: Any = forms.formset_factory(CrossingForm, extra=8, max_num=8)


class CheckForm(forms.Form):
    """The lead's verdict. A reason's button says the reason; "another" takes words. Where nobody
    has said how much is drawn, the button that accepts says it."""

    id = RecordIdField()
    version = VersionField()
    why = forms.ChoiceField(choices=[("", ""), *RedoReason.choices], required=False)
    words = WordsField(label=_("Another reason, in words"), required=False, rows=2)
    extent = forms.ChoiceField(choices=Extent.choices, required=False)
    frame_lies = forms.ChoiceField(
        label=_("The frame lay"),
        choices=[*FRAME_LIES, ("", _("not said yet"))],
        widget=forms.RadioSelect,
        required=False,
    )
