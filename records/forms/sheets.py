"""Forms for printing drawing sheets and coded boards."""

from typing import Any, cast

from django import forms
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _
from django.utils.translation import ngettext

from records.forms.fields import CountField, RecordIdField
from records.forms.squares import squares_typed
from records.models import NumberBlock, NumberKind, Paper, PrintedSheet, Season, Square
from records.queries.sheets import made_just_now
from records.queries.square_words import present_stages
from records.queries.underlays import laid_under
from records.refusals import Refused
from records.verbs.sheets import BoardEntry, PrintEntry, SheetEntry

SCALES = [(5, "1:5"), (10, "1:10"), (20, "1:20")]
LINES = [(20, _("every 20 cm")), (10, _("every 10 cm"))]
EACH, TOGETHER = "each", "together"
PILES = [(EACH, _("A sheet for each square")), (TOGETHER, _("All on one sheet, as a block"))]


class BlockChoice(forms.ModelChoiceField):  # type: ignore[type-arg]
    def label_from_instance(self, block: Any) -> str:
        return _now("%(first)d to %(last)d, with %(who)s") % {
            "first": block.first,
            "last": block.last,
            "who": block.given_to,
        }


class PaperForm(forms.Form):
    """What sheets and boards have in common."""

    id = RecordIdField()
    paper = forms.ChoiceField(
        label=_("Paper"),
        choices=Paper.choices,
        initial=Paper.A4,
        widget=forms.RadioSelect,
        help_text=_("A4 is handier: in a current an A3 board is a sail."),
    )
    scale = forms.TypedChoiceField(
        label=_("Scale"),
        choices=SCALES,
        coerce=int,
        initial=10,
        widget=forms.RadioSelect,
        help_text=_(
            "At 1:5 a square of 1 m comes within 5 mm of the edge of A4: print without margins, or "
            "choose A3."
        ),
    )
    lines = forms.TypedChoiceField(
        label=_("Thin lines"), choices=LINES, coerce=int, initial=20, widget=forms.RadioSelect
    )


class PrintForm(PaperForm):
    squares = forms.CharField(
        label=_("Squares"),
        max_length=400,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
        help_text=_("K7, or K7 L7, or K7–L8 for a block."),
    )
    pile = forms.ChoiceField(
        label=_("How many sheets"), choices=PILES, initial=EACH, widget=forms.RadioSelect
    )
    underlay = forms.BooleanField(
        label=_("Print the square's photographs faintly under it"),
        required=False,
        help_text=_(
            "To check and annotate under water, where photographs cover it. What is drawn on them "
            "does not count as agreeing with them."
        ),
    )
    block: Any = BlockChoice(
        None,
        label=_("Numbers"),
        required=False,
        empty_label=_("the next free ones"),
        help_text=_("Or those of a block that was given to a pair."),
    )

    again = forms.BooleanField(
        label=_("Make them once more, under new numbers"),
        required=False,
        widget=forms.HiddenInput,
    )
    """Asked only where the same were made just now."""

    field_order = ("again", "squares", "pile", "paper", "scale", "lines")

    def __init__(self, season: Season, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self.season = season
        fields = cast(dict[str, Any], self.fields)
        blocks = NumberBlock.objects.standing().filter(season=season, kind=NumberKind.DRAWING)
        printed = PrintedSheet.objects.filter(season=season).values("block")
        fields["block"].queryset = blocks.exclude(pk__in=printed.exclude(block=None))

    def clean_squares(self) -> list[Square]:
        return squares_typed(self.season.site, self.cleaned_data["squares"])

    def says(self) -> PrintEntry:
        """Each square in its present stage; Refused where none is open."""
        said = self.cleaned_data
        squares = said["squares"]
        stages = present_stages(self.season, squares)
        closed = [one.label for one in squares if one.pk not in stages]
        if closed:
            raise Refused(
                _now("No stage is open for %(labels)s. Ask a lead to open one.")
                % {"labels": ", ".join(closed[:6])},
                field="squares",
            )
        piles = [squares] if said["pile"] == TOGETHER else [[one] for one in squares]
        sheets = [self._sheet(pile, stages) for pile in piles]
        if said["underlay"] and not any(one.underlay for one in sheets):
            raise Refused(
                _now("No photograph covers %(labels)s yet, so there is nothing to print under it.")
                % {"labels": ", ".join(one.label for one in squares[:6])},
                field="underlay",
            )
        entry = PrintEntry(sheets, said["paper"], said["scale"], said["lines"] / 100, said["block"])
        if not said["again"]:
            self._demand_new(entry)
        return entry

    def _demand_new(self, entry: PrintEntry) -> None:
        """The Back button draws the form afresh, with a new key: pressed again, it would use up
        other numbers for the same sheets."""
        same = made_just_now(self.season, entry, but=self.cleaned_data["id"])
        if not same:
            return
        cast(Any, self.fields["again"]).widget = forms.CheckboxInput()
        raise Refused(
            ngettext(
                "You made %(sheets)s for this a moment ago, and it is still out: it stands under "
                "Printed sheets. Tick this only if you want another.",
                "You made %(sheets)s for this a moment ago, and they are still out: they stand "
                "under Printed sheets. Tick this only if you want others.",
                len(same),
            )
            % {"sheets": ", ".join(str(one) for one in same[:6])},
            field="again",
        )

    def _sheet(self, squares: list[Square], stages: Any) -> SheetEntry:
        stage = stages[squares[0].pk]
        if any(stages[one.pk] != stage for one in squares):
            raise Refused(
                _now("These squares are in different stages: print a sheet for each."),
                field="pile",
            )
        wanted = self.cleaned_data["underlay"]
        return SheetEntry(squares, stage, laid_under(squares, stage) if wanted else ())


class BoardForm(PaperForm):
    columns = CountField(label=_("Squares across"), min_value=1, max_value=10, initial=1)
    rows = CountField(label=_("Squares up"), min_value=1, max_value=10, initial=1)

    def __init__(self, season: Season, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        grids = season.site.grids.filter(voided_at=None).order_by("made_at")
        self.sides_m = list(dict.fromkeys(grids.values_list("side_m", flat=True))) or [1.0]
        if len(self.sides_m) > 1:
            self.fields["side"] = forms.TypedChoiceField(
                label=_("Side of its squares"),
                choices=[(f"{side:g}", f"{side:g} m") for side in self.sides_m],
                coerce=float,
                widget=forms.RadioSelect,
                help_text=_("The site has grids of different sides; a board serves one of them."),
            )

    def says(self) -> BoardEntry:
        said = self.cleaned_data
        return BoardEntry(
            said["paper"],
            said["scale"],
            said["columns"],
            said["rows"],
            said.get("side", self.sides_m[0]),
            said["lines"] / 100,
        )
