"""The plan of a grid, the same as a table and as a report, and the card of one square."""

from typing import Any

from django.http import Http404, HttpResponse
from django.shortcuts import render

from records.archive.registers import Viewer
from records.models import Phase
from records.permissions import May
from records.queries.card import SquareCard, card_of
from records.queries.finds import finds_on_grid
from records.queries.missing import count, report_of
from records.queries.outline_sheet import shapes_on_plan
from records.queries.outlines import legend_of
from records.queries.plan import draw_plan
from records.queries.squares import SquareState, states_of
from records.views.frame import PageRequest, season_page
from records.views.plan_choice import (
    Choice,
    filter_chips,
    grid_chips,
    read_choice,
    stage_chips,
)


@season_page("GET", "HEAD", may=May.SEE, place="plan")
def plan(request: PageRequest) -> HttpResponse:
    choice = read_choice(request.season, request.GET)
    if choice.grid is None:
        return render(request, "squares/no_grid.html", _doors(request))
    states = states_of(request.season, [choice.grid], choice.stage)
    picks = choice.only.picks if choice.only else None
    context: dict[str, Any] = {
        **_doors(request),
        "choice": choice,
        "counts": count(states),
        "grid_chips": grid_chips(choice),
        "stage_chips": stage_chips(choice),
        "filter_chips": filter_chips(choice, states),
        "card": _card(request, choice, states),
        "card_query": choice.but(at=None, only=None, as_table=False),
        "as_plan": choice.but(as_table=False),
        "as_table": choice.but(as_table=True),
    }
    if choice.as_table:
        context["states"] = [one for one in states if picks is None or picks(one)]
        return render(request, "squares/table.html", context)
    drawn = draw_plan(choice.grid, states, picks)
    if drawn is not None:
        viewer = Viewer(request.season, request.membership.role)
        context["outline_shapes"] = shapes_on_plan(request.season, drawn, choice.stage, states)
        context["outline_legend"] = legend_of(request.site)
        context["crosses"] = drawn.crosses(finds_on_grid(choice.grid, choice.stage, viewer))
    context["plan"] = drawn
    return render(request, "squares/plan.html", context)


@season_page("GET", "HEAD", may=May.SEE, place="plan")
def square_card(request: PageRequest) -> HttpResponse:
    """The card of one square: a fragment for the plan, a page of its own without script."""
    choice = read_choice(request.season, request.GET)
    if choice.grid is None or choice.at is None:
        raise Http404
    states = states_of(request.season, [choice.grid], choice.stage, at=choice.at)
    card = _card(request, choice, states)
    if card is None:
        raise Http404
    context = {**_doors(request), "choice": choice, "card": card}
    page = "squares/_card.html" if request.headers.get("HX-Request") else "squares/card.html"
    return render(request, page, context)


@season_page("GET", "HEAD", may=May.SEE, place="plan")
def plan_report(request: PageRequest) -> HttpResponse:
    choice = read_choice(request.season, request.GET)
    if choice.grid is None:
        return render(request, "squares/no_grid.html", _doors(request))
    states = states_of(request.season, [choice.grid], choice.stage)
    context = {
        **_doors(request),
        "choice": choice,
        "counts": count(states),
        "stage_chips": stage_chips(choice),
        "report": report_of(states),
    }
    return render(request, "squares/report.html", context)


def _doors(request: PageRequest) -> dict[str, bool]:
    """What the person may go on to do from here, while the season takes fieldwork; and see."""
    is_open = request.season.phase() == Phase.OPEN
    return {
        "may_record": is_open and request.may(May.RECORD),
        "may_lead": is_open and request.may(May.LEAD),
        "may_direct": is_open and request.may(May.DIRECT),
    }


def _card(request: PageRequest, choice: Choice, states: list[SquareState]) -> SquareCard | None:
    chosen = [one for one in states if (one.column, one.row) == choice.at]
    return card_of(request.season, chosen[0]) if chosen else None
