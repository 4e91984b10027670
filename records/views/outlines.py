"""The season's traced features: the list, one of them, the files, the list of kinds."""

from typing import Any
from urllib.parse import urlencode
from uuid import UUID

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.translation import gettext as _

from records.archive.outline_files import SCALES
from records.forms.outlines import OutlineKindsForm
from records.forms.saving import submit
from records.forms.squares import ReasonForm
from records.models import Outline
from records.permissions import May
from records.queries.changes import entries
from records.queries.outline_choice import OutlineChoice, read_outline_choice
from records.queries.outline_desk import sources_of
from records.queries.outline_sheet import sheet_of
from records.queries.outlines import legend_of, outlines_of, outlines_shown
from records.verbs.outlines import set_outline_kinds, void_outline
from records.views.fieldwork import may_until_deposited
from records.views.form_page import FormPage, answer_form, see_other, typed_in
from records.views.frame import PageRequest, say_saved, season_page


@season_page(may=May.SEE, place="plan")
def outlines(request: PageRequest) -> HttpResponse:
    choice = choice_of(request)
    shown = outlines_shown(choice.outlines(void=True), request.site) if choice.grid else []
    standing = [one for one in shown if not one.outline.is_voided]
    here = urlencode(choice.query())
    context: dict[str, Any] = {
        "choice": choice,
        "shown": shown,
        "standing": standing,
        "sheet": sheet_of(standing) if standing else None,
        "remarks": any(one.outline.remark or one.outline.is_voided for one in shown),
        "query": here,
        "scales": SCALES,
        "grid_chips": [
            (str(one), _asked(choice, grid=one, square=None), one == choice.grid)
            for one in (choice.grids if len(choice.grids) > 1 else [])
        ],
        "stage_chips": [
            (str(one or _("all stages")), _asked(choice, stage=one), one == choice.stage)
            for one in [None, *choice.stages]
        ],
        "all_squares": _asked(choice, square=None) if choice.square else "",
        "legend": legend_of(request.site),
        "may_direct": request.may(May.DIRECT),
    }
    return render(request, "outlines/list.html", context)


def _asked(choice: OutlineChoice, **changed: Any) -> str:
    return "?" + urlencode(choice.query(**changed))


def choice_of(request: PageRequest) -> OutlineChoice:
    choice = read_outline_choice(request.season, request.GET)
    if choice is None:
        raise Http404
    return choice


@season_page(may=May.SEE, place="plan")
def outline(request: PageRequest, outline_id: UUID) -> HttpResponse:
    return _page(request, _here(request, outline_id), ReasonForm(auto_id="void_%s"))


@season_page("POST", may=May.LEAD, place="plan")
def outline_void(request: PageRequest, outline_id: UUID) -> HttpResponse:
    row, form = _here(request, outline_id), ReasonForm(request.POST, auto_id="void_%s")
    voided, status = submit(form, lambda said: void_outline(row, said["reason"]))
    if voided is None:
        return _page(request, row, form, status)
    say_saved(request, voided, _("The feature is void; it stays to be read."))
    return see_other(reverse("outline", args=[request.season.code, row.pk]))


def _here(request: PageRequest, outline_id: UUID) -> Outline:
    found: Outline = get_object_or_404(outlines_of(request.season, void=True), pk=outline_id)
    return found


def _page(
    request: PageRequest, row: Outline, void_form: ReasonForm, status: int = 200
) -> HttpResponse:
    shown = outlines_shown([row], request.site)[0]
    standing = not row.is_voided
    drawings, photographs = sources_of(row, may_lead=request.may(May.LEAD))
    context = {
        "shown": shown,
        "sheet": sheet_of([shown]),
        "drawings": drawings,
        "photographs": photographs,
        "legend": legend_of(request.site),
        "may_record": standing and may_until_deposited(request, May.RECORD),
        "may_lead": standing and may_until_deposited(request, May.LEAD),
        "history": entries(row) if request.may(May.RECORD) else [],
        "answers": row.answers.values() if request.sees_names else [],
        "void_form": void_form,
    }
    return render(request, "outlines/page.html", context, status=status)


@season_page("GET", "HEAD", "POST", may=May.DIRECT)
def outline_kinds(request: PageRequest) -> HttpResponse:
    here = reverse("outlines", args=[request.season.code])
    page = FormPage(
        title=_("Kinds of traced features"),
        answer=_("Which kinds of features are told apart on this site?"),
        remarks=[_("Each has a line and filling of its own, so that none needs colour.")],
        cancel_url=here,
    )
    form = OutlineKindsForm(typed_in(request), initial=OutlineKindsForm.seen(request.site))
    return answer_form(
        request,
        form,
        page,
        lambda said: set_outline_kinds(request.site, said["kinds"], said["version"]),
        lambda _site: (_("The list of kinds is saved."), here),
    )
