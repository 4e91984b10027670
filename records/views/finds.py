"""The finds of the season, and one find with its position, its pictures and its history."""

from typing import Any
from urllib.parse import urlencode
from uuid import UUID

from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.translation import gettext as _

from records.forms.people import ReasonForm
from records.models import Find, Phase
from records.permissions import May, sees_site_positions
from records.queries.changes import entries
from records.queries.find_pages import CHOICES, counts_of, find_shown, listed
from records.queries.finds import finds_seen, with_all
from records.verbs.finds import void_find
from records.views.form_page import FormPage, answer_form, typed_in
from records.views.frame import PageRequest, season_page

ON_A_PAGE = 50


def find_here(request: PageRequest, find_id: UUID, *, standing: bool = False) -> Find:
    """A find that this person may know of; a restricted one is not found by others than leads."""
    finds = with_all(finds_seen(request.season, may_lead=request.may(May.LEAD)))
    found: Find = get_object_or_404(finds.filter(voided_at=None) if standing else finds, pk=find_id)
    return found


def find_url(find: Find, name: str = "find") -> str:
    return reverse(name, args=[find.season.code, find.pk])


def doors(request: PageRequest) -> dict[str, bool]:
    """What the person may do: new finds and positions close before the rest does."""
    phase = request.season.phase()
    records = request.may(May.RECORD)
    return {
        "knows": records,
        "may_register": records and phase == Phase.OPEN,
        "may_edit": records and phase != Phase.DEPOSITED,
        "may_lead": request.may(May.LEAD) and phase != Phase.DEPOSITED,
    }


@season_page(place="finds")
def finds(request: PageRequest) -> HttpResponse:
    asked, only = request.GET.get("q", "").strip(), request.GET.get("only", "")
    leads, knows = request.may(May.LEAD), request.may(May.RECORD)
    rows = listed(request.season, may_lead=leads, sees_places=knows, search=asked, only=only)
    pages = Paginator(rows, ON_A_PAGE).get_page(request.GET.get("page"))
    page = {
        **doors(request),
        "counts": counts_of(request.season, may_lead=leads),
        "pages": pages,
        "asked": {"search": asked, "as_query": urlencode({"q": asked, "only": only})},
        "only": only,
        "chips": [
            (key, words, urlencode({"q": asked, "only": key})) for key, words in CHOICES.items()
        ],
        "all_query": urlencode({"q": asked}),
    }
    return render(request, "finds/list.html", page)


@season_page(place="finds")
def find(request: PageRequest, find_id: UUID) -> HttpResponse:
    found = find_here(request, find_id)
    page: dict[str, Any] = {
        **doors(request),
        "shown": find_shown(found, may_lead=request.may(May.LEAD)),
        "find": found,
        "sees_positions": sees_site_positions(request.membership.role, request.season),
    }
    if request.may(May.RECORD):
        fix = page["shown"].fix
        confirmed = [*found.answers.values(), *(fix.answers.values() if fix else [])]
        page |= {"history": entries(found), "answers": confirmed}
    return render(request, "finds/page.html", page)


@season_page("GET", "HEAD", "POST", may=May.LEAD, place="finds")
def find_void(request: PageRequest, find_id: UUID) -> HttpResponse:
    found = find_here(request, find_id)
    page = FormPage(
        title=_("Find %(n)s") % {"n": found.n},
        answer=_("Make this find void? It stays to be read, with its number and your reason."),
        save_label=_("Make it void"),
        cancel_url=find_url(found),
    )
    return answer_form(
        request,
        ReasonForm(typed_in(request)),
        page,
        lambda said: void_find(found, said["reason"]),
        lambda voided: (_("Find %(n)s is void.") % {"n": voided.n}, find_url(voided)),
    )
