"""The lens of a set-up: pictures of the printed board, what they say, and a lens kept."""

from typing import Any
from uuid import UUID, uuid4

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from records.forms.lenses import BoardFilesForm, LensForm
from records.forms.people import ReasonForm
from records.forms.saving import submit
from records.intake.pictures import bring_in_picture
from records.models import Lens, TowerSetUp
from records.permissions import May
from records.queries.lenses import LensPage, lens_page
from records.refusals import Refused
from records.verbs.lenses import add_board_picture, keep_lens, leave_out_board_picture
from records.views.fieldwork import open_forms_only
from records.views.form_page import FormPage, answer_form, see_other, typed_in
from records.views.frame import PageRequest, say_saved, season_page
from records.views.set_ups import set_up_here, set_up_url


@season_page("GET", "HEAD", "POST", may=May.LEAD, place="pictures")
def set_up_lens(request: PageRequest, set_up_id: UUID) -> HttpResponse:
    """What the board's pictures and the base's marks say of the lens; one of them is kept."""
    open_forms_only(request)
    set_up = set_up_here(request, set_up_id)
    shown = lens_page(set_up)
    form = LensForm(request.season, shown.sources, typed_in(request))
    status = 200
    if request.method == "POST":
        kept, status = _kept(request, set_up, form)
        if kept is not None:
            say_saved(request, kept, _("The lens %(name)s is kept.") % {"name": kept.name})
            return see_other(set_up_url(request, set_up))
    return _page(request, set_up, shown, form, status)


def _kept(request: PageRequest, set_up: TowerSetUp, form: LensForm) -> tuple[Lens | None, int]:
    return submit(form, lambda said: keep_lens(request.season, set_up, form.entry(), said["id"]))


@season_page("POST", may=May.LEAD, place="pictures")
def board_pictures(request: PageRequest, set_up_id: UUID) -> HttpResponse:
    """Bring them in, one after another; what is refused is said, the others stay."""
    open_forms_only(request)
    set_up = set_up_here(request, set_up_id)
    form = BoardFilesForm(request.POST, request.FILES)
    if not form.is_valid():
        messages.error(request, " ".join(str(one) for one in form.errors["pictures"]))
        return see_other(_url(request, set_up))
    count = 0
    for file in form.cleaned_data["pictures"]:
        try:
            _brought_in(request, set_up, file)
            count += 1
        except Refused as refusal:
            messages.error(request, f"{file.name}: {refusal.words}")
    if count:
        words = ngettext("%(n)d picture came in.", "%(n)d pictures came in.", count)
        messages.success(request, words % {"n": count})
    return see_other(_url(request, set_up))


def _brought_in(request: PageRequest, set_up: TowerSetUp, file: Any) -> None:
    picture = bring_in_picture(
        request.season, file, file.name, size_bytes=file.size, orientation=set_up.orientation
    )
    add_board_picture(request.season, set_up, picture, uuid4())


@season_page("GET", "HEAD", "POST", may=May.LEAD, place="pictures")
def board_picture_out(request: PageRequest, set_up_id: UUID, board_id: UUID) -> HttpResponse:
    open_forms_only(request)
    set_up = set_up_here(request, set_up_id)
    row = get_object_or_404(set_up.board_pictures.filter(voided_at=None), pk=board_id)
    page = FormPage(
        title=row.picture.original_name,
        answer=_("Leave this picture of the board out of the lens?"),
        save_label=_("Leave it out"),
        cancel_url=_url(request, set_up),
    )
    return answer_form(
        request,
        ReasonForm(typed_in(request)),
        page,
        lambda said: leave_out_board_picture(request.season, row, said["reason"]),
        lambda _gone: (_("The picture is left out."), _url(request, set_up)),
    )


def _page(
    request: PageRequest, set_up: TowerSetUp, shown: LensPage, form: LensForm, status: int
) -> HttpResponse:
    page = {"set_up": set_up, "shown": shown, "form": form, "files": BoardFilesForm()}
    return render(request, "photos/set_up_lens.html", page, status=status)


def _url(request: PageRequest, set_up: TowerSetUp) -> str:
    return reverse("set_up_lens", args=[request.season.code, set_up.pk])
