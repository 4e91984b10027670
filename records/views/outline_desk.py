"""The desk for tracing, and the same desk over a neighbouring square or the other picture."""

from django.http import HttpResponse
from django.shortcuts import render

from records.forms.outlines import OutlineForm
from records.models import Outline, Square, Stage
from records.permissions import May
from records.queries.outline_desk import Desk, desk_for
from records.queries.outlines import legend_of, outlines_of
from records.views.frame import PageRequest

WAYS = {
    "left": ("←", (-1, 0)),
    "up": ("↑", (0, 1)),
    "down": ("↓", (0, -1)),
    "right": ("→", (1, 0)),
}


def elsewhere(
    request: PageRequest, square: Square, stage: Stage, outline: Outline | None
) -> HttpResponse:
    """The same page over a neighbour, or over the other picture; what was traced stays."""
    column, row = WAYS.get(request.POST.get("go", ""), ("", (0, 0)))[1]
    there = Square.objects.standing().filter(
        grid=square.grid, column=square.column + column, row=square.row + row
    )
    square = there.labelled().first() or square
    kept = request.POST.dict() | {"at": str(square.pk)}
    form = OutlineForm(request.site, initial=kept)
    return show_desk(request, form, square, stage, 200, outline)


def show_desk(
    request: PageRequest,
    form: OutlineForm,
    square: Square,
    stage: Stage,
    status: int = 200,
    outline: Outline | None = None,
) -> HttpResponse:
    season, may_lead = request.season, request.may(May.LEAD)
    seen = form["traced_over"].value() or request.GET.get("over", "")
    over = request.POST.get("over") or str(seen)
    others = outlines_of(season, square.grid, stage)
    if outline is not None:
        others = others.exclude(pk=outline.pk)
    desk: Desk = desk_for(season, square, stage, over, others, may_lead=may_lead)
    there = {(one.column, one.row): one.label for one in desk.squares}
    context = {
        "form": form,
        "desk": desk,
        "outline": outline,
        "stage": stage,
        "ways": [
            (name, arrow, there.get((square.column + step[0], square.row + step[1]), ""))
            for name, (arrow, step) in WAYS.items()
        ],
        "legend": legend_of(request.site),
    }
    return render(request, "outlines/trace.html", context, status=status)
