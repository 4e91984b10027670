"""Single photographs: brought in, shown, mended, made void."""

from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.translation import gettext as _

from records.forms.people import ReasonForm
from records.forms.photographs import NewPhotographForm, PhotographForm
from records.forms.saving import save_or_explain
from records.models import Photograph, PhotoKind
from records.permissions import May
from records.queries.changes import entries
from records.queries.marks import placed_told
from records.queries.opinions import said_of
from records.queries.photographs import is_placeable, photographs_for, stands_on
from records.queries.pictures import why_unmade
from records.verbs.photographs import (
    edit_photograph,
    record_photograph,
    void_photograph,
)
from records.views.fieldwork import may_still, may_until_deposited
from records.views.form_page import FormPage, answer_form, see_other, typed_in
from records.views.frame import PageRequest, say_saved, season_page
from records.views.photo_files import kept_picture


def photo_here(request: PageRequest, photo_id: UUID) -> Photograph:
    seen = photographs_for(request.season, may_lead=request.may(May.LEAD))
    photograph: Photograph = get_object_or_404(seen, pk=photo_id)
    return photograph


def photo_url(photograph: Photograph) -> str:
    return reverse("photo", args=[photograph.season.code, photograph.pk])


@season_page(place="pictures")
def photo(request: PageRequest, photo_id: UUID) -> HttpResponse:
    shown = photo_here(request, photo_id)
    page = {
        "photograph": shown,
        "stands_on": stands_on(shown),
        "placed": placed_told(shown),
        "said": said_of(getattr(shown, "frame", None)),
        "unmade": why_unmade(shown.picture),
        "history": entries(shown) if request.may(May.RECORD) else [],
        "may_record": request.may(May.RECORD),
        "may_mend": may_until_deposited(request, May.RECORD),
        "may_lead": may_until_deposited(request, May.LEAD),
        "may_move": may_still(request, May.LEAD),
        "may_place": may_still(request, May.RECORD)
        and is_placeable(shown, may_lead=request.may(May.LEAD)),
    }
    return render(request, "photos/photo.html", page)


@season_page("GET", "HEAD", "POST", may=May.RECORD, place="pictures")
def photo_new(request: PageRequest) -> HttpResponse:
    form = NewPhotographForm(
        typed_in(request),
        request.FILES or None,
        season=request.season,
        initial={name: request.GET.get(name) for name in ("dive", "square", "kind")},
    )
    status = 200
    if request.method == "POST":
        form.is_valid()
        picture = kept_picture(request, form)
        status = 422
        if picture is not None and not form.errors:
            made, status = save_or_explain(
                form,
                lambda: record_photograph(
                    request.season, picture, form.entry(), form.cleaned_data["id"]
                ),
            )
            if made is not None:
                say_saved(request, made, _("Kept as %(number)s.") % {"number": made.number})
                return see_other(photo_url(made))
        form.kept = picture  # type: ignore[attr-defined]
    return render(request, "photos/photo_form.html", {"form": form}, status=status)


@season_page("GET", "HEAD", "POST", may=May.RECORD, place="pictures")
def photo_edit(request: PageRequest, photo_id: UUID) -> HttpResponse:
    edited = photo_here(request, photo_id)
    of_frame = edited.kind == PhotoKind.FRAME
    form = PhotographForm(
        typed_in(request),
        season=request.season,
        of_frame=of_frame,
        initial=PhotographForm.seen(edited),
    )
    page = FormPage(
        title=edited.number,
        answer=_("What does it show, and how was it taken?"),
        cancel_url=photo_url(edited),
        draft=f"photo-{edited.pk}",
    )
    return answer_form(
        request,
        form,
        page,
        lambda said: edit_photograph(edited, form.entry(edited.kind), said["version"]),
        lambda saved: (_("%(number)s is saved.") % {"number": saved.number}, photo_url(saved)),
    )


@season_page("GET", "HEAD", "POST", may=May.LEAD, place="pictures")
def photo_void(request: PageRequest, photo_id: UUID) -> HttpResponse:
    unwanted = photo_here(request, photo_id)
    page = FormPage(
        title=unwanted.number,
        answer=_("Make this photograph void? It stays to be seen, with its number and reason."),
        remarks=[_("What a frame covers of the squares is counted again without it.")],
        save_label=_("Make it void"),
        cancel_url=photo_url(unwanted),
    )
    return answer_form(
        request,
        ReasonForm(typed_in(request)),
        page,
        lambda said: void_photograph(unwanted, said["reason"]),
        lambda gone: (_("%(number)s is void.") % {"number": gone.number}, photo_url(gone)),
    )
