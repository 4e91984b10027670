"""What hangs on a find: its position by offsets, and its pictures."""

from collections.abc import Iterator
from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from records.forms.find_pictures import AwayForm, FindPicturesForm
from records.forms.finds import FixForm
from records.forms.saving import answers_in, save_or_explain
from records.intake.pictures import bring_in_picture
from records.models import Find, FindPicture
from records.permissions import May
from records.queries.find_pages import changed_since
from records.queries.finds import fix_of
from records.refusals import Refused
from records.verbs.find_pictures import ShotEntry, add_find_picture, take_away_find_picture
from records.verbs.fixes import fix_by_offsets
from records.views.finds import find_here, find_url
from records.views.form_page import FormPage, answer_form, see_other, typed_in
from records.views.frame import PageRequest, say_saved, season_page


@season_page("GET", "HEAD", "POST", may=May.RECORD, place="finds")
def find_fix(request: PageRequest, find_id: UUID) -> HttpResponse:
    found = find_here(request, find_id, standing=True)
    if request.method != "POST":
        return _fix_page(request, found, FixForm(initial={"version": found.version}))
    form, status = FixForm(request.POST), 422
    if form.is_valid():
        said, answers = form.cleaned_data, answers_in(request.POST)
        saved, status = save_or_explain(
            form,
            lambda: fix_by_offsets(found, form.says(), said["id"], said["version"], answers),
            changed=lambda stale: changed_since(stale.current, stale.seen_version),
        )
        if saved is not None:
            say_saved(request, saved, _("The position of find %(n)s is saved.") % {"n": found.n})
            return see_other(find_url(found))
    return _fix_page(request, found, form, status)


def _fix_page(request: PageRequest, find: Find, form: FixForm, status: int = 200) -> HttpResponse:
    context = {"find": find, "fix": fix_of(find), "form": form, "cancel_url": find_url(find)}
    return render(request, "finds/fix.html", context, status=status)


@season_page("GET", "HEAD", "POST", may=May.RECORD, place="finds")
def find_pictures(request: PageRequest, find_id: UUID) -> HttpResponse:
    """Each file stands for itself: what arrived whole is kept, the others are named."""
    found = find_here(request, find_id, standing=True)
    form = FindPicturesForm(request.season, typed_in(request), request.FILES or None)
    if request.method != "POST":
        return _pictures_page(request, found, form)
    if not form.is_valid():
        return _pictures_page(request, found, form, status=422)
    outcomes = list(_laid(request, found, form))
    laid = [one for one in outcomes if isinstance(one, FindPicture)]
    refused = [one for one in outcomes if isinstance(one, str)]
    if laid:
        words = ngettext("%(n)s picture is kept.", "%(n)s pictures are kept.", len(laid))
        say_saved(request, laid[-1], words % {"n": len(laid)})
    if not refused:
        return see_other(find_url(found))
    for words in refused:
        form.add_error("pictures", words)
    return _pictures_page(request, found, form, status=422)


def _laid(request: PageRequest, find: Find, form: FindPicturesForm) -> Iterator[FindPicture | str]:
    said = form.cleaned_data
    entry = ShotEntry(
        facing=said["facing"], scale_words=said["scale_words"], photographer=said["photographer"]
    )
    for file in said["pictures"]:
        try:
            picture = bring_in_picture(request.season, file, file.name or "", size_bytes=file.size)
            yield add_find_picture(find, picture, entry)
        except Refused as refusal:
            yield f"{file.name}: {refusal.words}"


def _pictures_page(request: PageRequest, find: Find, form: Any, status: int = 200) -> HttpResponse:
    context = {"find": find, "form": form, "cancel_url": find_url(find)}
    return render(request, "finds/pictures.html", context, status=status)


@season_page("GET", "HEAD", "POST", may=May.RECORD, place="finds")
def find_picture_away(request: PageRequest, find_id: UUID, link_id: UUID) -> HttpResponse:
    found = find_here(request, find_id, standing=True)
    link = get_object_or_404(FindPicture.objects.standing(), find=found, pk=link_id)
    page = FormPage(
        title=_("Find %(n)s") % {"n": found.n},
        answer=_("Take this picture away from the find?"),
        save_label=_("Take it away"),
        cancel_url=find_url(found),
    )
    return answer_form(
        request,
        AwayForm(typed_in(request)),
        page,
        lambda said: take_away_find_picture(link, said["reason"]),
        lambda _link: (_("The picture is taken away from the find."), find_url(found)),
    )
