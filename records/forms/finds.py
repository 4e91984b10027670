"""Forms of finds: what it is, where it lay, where exactly, and its pictures."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import Q
from django.utils.formats import date_format
from django.utils.translation import gettext_lazy as _

from records.forms.fields import (
    CountField,
    DayField,
    GramsField,
    MetresField,
    MillimetresField,
    RecordIdField,
    VersionField,
    WordsField,
)
from records.models import Dive, Diver, Find, Restriction, Season, Square, Stage, Whereabouts
from records.queries.square_words import present_stages
from records.queries.squares import find_square
from records.refusals import Refused
from records.verbs.find_entry import FindEntry, FixEntry, entry_of

OTHER = "-"
"""No object name: a list may hold the word "other"."""

MOST_AS_CHOICES = 16
PLACE = ("square", "stage", "where_in_words", "dive", "found_by", "found_on")


class DiveOfFind(forms.ModelChoiceField):  # type: ignore[type-arg]
    def label_from_instance(self, dive: Any) -> str:
        return f"{dive.n} · {date_format(dive.day.date, 'j F')}"


class DiverByInitials(forms.ModelChoiceField):  # type: ignore[type-arg]
    def label_from_instance(self, diver: Any) -> str:
        return str(diver.initials)


class PlaceForm(forms.Form):
    """Where it lay, on which dive, who found it and when."""

    id = RecordIdField()
    square = forms.CharField(
        label=_("Square"),
        required=False,
        max_length=40,
        widget=forms.TextInput(
            attrs={"list": "open-squares", "autocapitalize": "characters", "autocomplete": "off"}
        ),
    )
    stage: Any = forms.ModelChoiceField(
        None, label=_("Stage"), required=False, empty_label=_("the present one")
    )
    where_in_words = forms.CharField(label=_("Where, in words"), required=False, max_length=200)
    dive: Any = DiveOfFind(None, label=_("Dive"), required=False, empty_label="–")
    found_by: Any = DiverByInitials(None, label=_("Found by"), required=False, empty_label="–")
    found_on = DayField(label=_("Found on"))

    def __init__(
        self, season: Season, *args: Any, check_url: str = "", find: Find | None = None, **more: Any
    ) -> None:
        super().__init__(*args, **more)
        self.season, self.find = season, find
        fields: Any = self.fields
        fields["stage"].queryset = Stage.objects.standing().filter(season=season)
        standing = Q(voided_at=None)  # what the find says already may stay
        dives = Dive.objects.filter(standing | Q(finds=find), season=season).distinct()
        fields["dive"].queryset = dives.select_related("day").order_by("-n")
        divers = Diver.objects.filter(standing | Q(finds=find), site=season.site_id).distinct()
        fields["found_by"].queryset = divers
        fields["square"].widget.attrs["data-check-url"] = check_url

    @property
    def in_words(self) -> bool:
        return bool(self["where_in_words"].value() or self["where_in_words"].errors)

    def clean_square(self) -> Square | None:
        typed = self.cleaned_data["square"].strip()
        if not typed:
            return None
        if self.find is not None and self.find.square and typed == self.find.square.label:
            return self.find.square
        try:
            return find_square(self.season.site, typed)
        except Refused as refusal:
            raise ValidationError(refusal.words) from refusal

    def place(self) -> dict[str, Any]:
        """The values of `PLACE`; of a square whose stage was not chosen, the present one."""
        said = {name: self.cleaned_data[name] for name in PLACE}
        square, was = said["square"], self.find
        if square is not None and said["stage"] is None:
            kept = was.stage if was is not None and was.square == square else None
            said["stage"] = kept or present_stages(self.season, [square]).get(square.pk)
        return said


class FindForm(PlaceForm):
    version = VersionField(required=False)
    object_name = forms.ChoiceField(label=_("What it is"), required=False, widget=forms.RadioSelect)
    other_name = forms.CharField(label=_("Other, in words"), required=False, max_length=80)
    tag = CountField(
        label=_("Number on its tag"),
        required=False,
        min_value=1,
        help_text=_("Only where it bears a tag given out ahead; else it gets the next number."),
    )
    description = WordsField(label=_("Description"), required=False, rows=3)
    whereabouts = forms.ChoiceField(
        label=_("In place or lifted"),
        choices=Whereabouts.choices,
        widget=forms.RadioSelect,
        initial=Whereabouts.IN_PLACE,
    )
    material = forms.CharField(label=_("Material"), required=False, max_length=80)
    count = CountField(label=_("Pieces"), min_value=1, initial=1)
    length_mm = MillimetresField(label=_("Length"), required=False)
    width_mm = MillimetresField(label=_("Width"), required=False)
    height_mm = MillimetresField(label=_("Height"), required=False)
    weight_g = GramsField(label=_("Weight"), required=False)
    condition = forms.CharField(label=_("Condition"), required=False, max_length=120)

    def __init__(self, season: Season, *args: Any, find: Find | None = None, **more: Any) -> None:
        if find is not None:
            more["initial"] = _seen(find)
        super().__init__(season, *args, find=find, **more)
        names = list(season.site.object_names)
        field: Any = self.fields["object_name"]
        if len(names) > MOST_AS_CHOICES:
            field.widget = forms.Select()
            names = ["", *names]
        field.choices = [(name, name or "–") for name in names] + [(OTHER, _("other, in words"))]
        if find is not None:
            del self.fields["tag"]
            self._keep_name(find.object_name)

    def _keep_name(self, name: str) -> None:
        if name not in self.season.site.object_names:
            self.initial.update({"object_name": OTHER, "other_name": name})

    @property
    def says_more(self) -> bool:
        names = ("material", "length_mm", "width_mm", "height_mm", "weight_g", "condition")
        return any(self[name].value() or self[name].errors for name in names)

    def clean(self) -> dict[str, Any]:
        said = super().clean() or self.cleaned_data
        chosen, other = said.get("object_name") or "", (said.get("other_name") or "").strip()
        if other and chosen not in ("", OTHER):
            self.add_error("other_name", _("Choose from the list or say it in words, not both."))
        elif not other and chosen in ("", OTHER) and "object_name" not in self.errors:
            self.add_error(
                "other_name" if chosen else "object_name", _("Say what it is, in a word or two.")
            )
        return said

    def says(self) -> FindEntry:
        said = self.cleaned_data
        chosen = said["object_name"]
        measured: dict[str, Any] = {}
        for name in ("length_mm", "width_mm", "height_mm", "weight_g"):
            measured[name] = None if said[name] is None else float(said[name])
        words = ("description", "whereabouts", "material", "count", "condition")
        return FindEntry(
            object_name=said["other_name"] if chosen in ("", OTHER) else chosen,
            **self.place(),
            **measured,
            **{name: said[name] for name in words},
            restriction=self.find.restriction if self.find else Restriction.NONE,
        )


def _seen(find: Find) -> dict[str, Any]:
    return entry_of(find).__dict__ | {
        "id": find.pk,
        "version": find.version,
        "square": find.square.label if find.square else "",
    }


class ReportForm(PlaceForm):
    """Human remains or ordnance: where it lies, and no more than was seen."""

    description = WordsField(
        label=_("What was seen"), required=False, rows=2, help_text=_("In a few words.")
    )
    field_order = ("square", "stage", "where_in_words")

    def says(self, restriction: str) -> FindEntry:
        return FindEntry(
            object_name="",
            description=self.cleaned_data["description"],
            restriction=restriction,
            **self.place(),
        )


class RestrictForm(forms.Form):
    restriction = forms.ChoiceField(label=_("What it may be"), widget=forms.RadioSelect)
    reason = forms.CharField(label=_("Who judged it, and how"), required=False, max_length=100)

    def __init__(self, find: Find, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        others = [one for one in Restriction.choices if one[0] != find.restriction]
        field: Any = self.fields["restriction"]
        field.choices = [
            (value, _("neither of the two") if value == Restriction.NONE else label)
            for value, label in others
        ]
        if not find.is_restricted:
            del self.fields["reason"]


SURE = [
    ("0.02", _("0.02 m: measured with care")),
    ("0.03", _("0.03 m: measured under worse conditions")),
    (OTHER, _("another")),
]


class FixForm(forms.Form):
    id = RecordIdField()
    version = VersionField()
    offset_x_m = MetresField(
        label=_("Offset x, along the columns"), decimal_places=3, min_value=None
    )
    offset_y_m = MetresField(label=_("Offset y, along the rows"), decimal_places=3, min_value=None)
    depth_m = MetresField(
        label=_("Depth below the site's datum"), required=False, decimal_places=2, min_value=None
    )
    sure = forms.ChoiceField(
        label=_("How sure (σ)"),
        choices=SURE,
        widget=forms.RadioSelect,
        help_text=_(
            "Offsets taken with a tape come out the same again to about 20 mm "
            "(RMS; Green, Maritime Archaeology)."
        ),
    )
    sigma_m = MetresField(label=_("Another σ"), required=False, decimal_places=3, min_value=None)

    def clean(self) -> dict[str, Any]:
        said = super().clean() or self.cleaned_data
        if said.get("sure") == OTHER and said.get("sigma_m") is None:
            if "sigma_m" not in self.errors:
                self.add_error("sigma_m", _("Say how sure, in metres."))
        return said

    def says(self) -> FixEntry:
        said = self.cleaned_data
        sure = said["sigma_m"] if said["sure"] == OTHER else said["sure"]
        depth = said["depth_m"]
        return FixEntry(
            offset_x_m=float(said["offset_x_m"]),
            offset_y_m=float(said["offset_y_m"]),
            depth_m=None if depth is None else float(depth),
            sigma_m=float(sure),
        )
