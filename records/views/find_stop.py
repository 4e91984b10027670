"""Human remains and suspected ordnance: stop, leave it where it lies, tell; then the report."""

from typing import Any
from uuid import UUID

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from records.forms.finds import ReportForm, RestrictForm
from records.forms.saving import save_or_explain
from records.models import Phase, Restriction
from records.permissions import May
from records.verbs.finds import register_find, restrict_find
from records.views.find_register import offered, place_of
from records.views.finds import find_here, find_url
from records.views.form_page import FormPage, answer_form, see_other, typed_in
from records.views.frame import PageRequest, say_saved, season_page


@season_page("GET", "HEAD", "POST", may=May.RECORD, place="finds")
def find_stop(request: PageRequest, danger: str) -> HttpResponse:
    """Whom to tell stands here in every phase; the report can be saved while fieldwork is open."""
    restriction = _restriction(danger)
    if request.method != "POST":
        return _page(request, restriction, _form(request, initial=offered(request)))
    form, status = _form(request, data=request.POST), 422
    if form.is_valid():
        entry, key = form.says(restriction), form.cleaned_data["id"]
        saved, status = save_or_explain(form, lambda: register_find(request.season, entry, key))
        if saved is not None:
            say_saved(request, saved, _("The report is saved."))
            return see_other(_told_url(request, restriction))
    return _page(request, restriction, form, status)


@season_page(may=May.RECORD, place="finds")
def find_told(request: PageRequest, danger: str) -> HttpResponse:
    """After the report: its reporter sees whom to tell, and nothing of the find."""
    restriction = _restriction(danger)
    return render(request, "finds/told.html", _whom_to_tell(request, restriction))


@season_page("GET", "HEAD", "POST", may=May.RECORD, place="finds")
def find_restrict(request: PageRequest, find_id: UUID) -> HttpResponse:
    """A find that may be one of the two after all; or, for leads, that is neither."""
    found = find_here(request, find_id, standing=True)
    page = FormPage(
        title=_("Find %(n)s: human remains or ordnance?") % {"n": found.n},
        answer=_("What may it be? From then on only leads and the director see this find.")
        if not found.is_restricted
        else _("What has it turned out to be?"),
        save_label=_("Save this"),
        cancel_url=find_url(found),
    )
    return answer_form(
        request,
        RestrictForm(found, typed_in(request)),
        page,
        lambda said: restrict_find(found, said["restriction"], said.get("reason", "")),
        lambda saved: (
            _("Saved."),
            _told_url(request, Restriction(saved.restriction))
            if saved.is_restricted
            else find_url(saved),
        ),
    )


def _restriction(danger: str) -> Restriction:
    if danger not in {Restriction.HUMAN_REMAINS, Restriction.ORDNANCE}:
        raise Http404
    return Restriction(danger)


def _told_url(request: PageRequest, restriction: Restriction) -> str:
    return reverse("find_told", args=[request.season.code, restriction.value])


def _whom_to_tell(request: PageRequest, restriction: Restriction) -> dict[str, Any]:
    season = request.season
    of_remains = restriction == Restriction.HUMAN_REMAINS
    told = season.tell_human_remains if of_remains else season.tell_ordnance
    return {"restriction": restriction, "tell": told.strip()}


def _form(request: PageRequest, **options: Any) -> ReportForm:
    check_url = reverse("dive_squares", args=[request.season.code])
    return ReportForm(request.season, check_url=check_url, **options)


def _page(
    request: PageRequest, restriction: Restriction, form: ReportForm, status: int = 200
) -> HttpResponse:
    context = {
        **place_of(request, form),
        **_whom_to_tell(request, restriction),
        "may_report": request.season.phase() == Phase.OPEN,
        "may_see_reports": request.may(May.LEAD),
        "cancel_url": reverse("finds", args=[request.season.code]),
    }
    return render(request, "finds/stop.html", context, status=status)
