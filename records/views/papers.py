"""A diver's papers: for leads and the director only, and in no package."""

from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.utils.translation import gettext as _

from records.forms.people import PaperForm, ReasonForm
from records.models import DiverPaper
from records.permissions import May
from records.queries.changes import entries
from records.verbs.divers import add_paper, edit_paper, void_paper
from records.views.divers import diver_here, diver_url
from records.views.form_page import FormPage, answer_form, typed_in
from records.views.frame import PageRequest, season_page


@season_page("GET", "HEAD", "POST", may=May.PAPERS)
def paper_new(request: PageRequest, diver_id: UUID) -> HttpResponse:
    diver = diver_here(request, diver_id)
    page = FormPage(
        title=diver.name,
        answer=_("Add a paper that this diver has shown you."),
        save_label=_("Add the paper"),
        cancel_url=diver_url(request, diver),
        draft=f"paper-new-{diver.pk}",
    )

    def act(said: dict[str, Any]) -> DiverPaper:
        said.pop("version")
        return add_paper(diver, pk=said.pop("id"), **said)

    form = PaperForm(typed_in(request))
    done = (_("The paper is added."), diver_url(request, diver))
    return answer_form(request, form, page, act, lambda _paper: done)


def _paper_here(request: PageRequest, paper_id: UUID) -> DiverPaper:
    papers = DiverPaper.objects.filter(diver__site=request.site).select_related("diver")
    paper: DiverPaper = get_object_or_404(papers, pk=paper_id)
    return paper


@season_page("GET", "HEAD", "POST", may=May.PAPERS)
def paper_edit(request: PageRequest, paper_id: UUID) -> HttpResponse:
    paper = _paper_here(request, paper_id)
    page = FormPage(
        title=paper.diver.name,
        answer=_("Mend this paper; a renewed one is better added beside it."),
        save_label=_("Save the paper"),
        cancel_url=diver_url(request, paper.diver),
        draft=f"paper-{paper.pk}",
        history=entries(paper),
    )

    def act(said: dict[str, Any]) -> DiverPaper:
        said.pop("id")
        return edit_paper(paper, said.pop("version"), **said)

    form = PaperForm(typed_in(request), initial=PaperForm.seen(paper))
    done = (_("The paper is saved."), diver_url(request, paper.diver))
    return answer_form(request, form, page, act, lambda _paper: done)


@season_page("GET", "HEAD", "POST", may=May.PAPERS)
def paper_void(request: PageRequest, paper_id: UUID) -> HttpResponse:
    paper = _paper_here(request, paper_id)
    page = FormPage(
        title=paper.diver.name,
        answer=_("Make this paper void: %(kind)s.") % {"kind": paper.get_kind_display()},
        save_label=_("Make it void"),
        cancel_url=diver_url(request, paper.diver),
    )
    return answer_form(
        request,
        ReasonForm(typed_in(request)),
        page,
        lambda said: void_paper(paper, reason=said["reason"]),
        lambda _paper: (_("The paper is void."), diver_url(request, paper.diver)),
    )
