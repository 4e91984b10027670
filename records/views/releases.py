"""What the director opens to readers, and closes again."""

from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.translation import gettext as _

from records.forms.people import ReasonForm
from records.forms.season import ReleaseForm
from records.models import Release
from records.permissions import May
from records.verbs.season import release, withdraw_release
from records.views.form_page import FormPage, answer_form, typed_in
from records.views.frame import PageRequest, season_page


@season_page(may=May.DIRECT)
def releases(request: PageRequest) -> HttpResponse:
    every = Release.objects.filter(season=request.season).select_related("made_by", "voided_by")
    page = {
        "standing": [one for one in every if not one.is_voided],
        "withdrawn": [one for one in every if one.is_voided],
    }
    return render(request, "season/releases.html", page)


@season_page("GET", "HEAD", "POST", may=May.DIRECT)
def release_new(request: PageRequest) -> HttpResponse:
    here = reverse("releases", args=[request.season.code])
    page = FormPage(
        title=_("Release to readers"),
        answer=_("What you release, every reader of this site sees."),
        remarks=[
            _(
                "Positions can lead others to the wreck. What readers have once seen cannot be "
                "taken back by withdrawing the release."
            ),
            _(
                "There is no public page yet, so nothing can be released to the public: only "
                "people with an account on this site see it."
            ),
        ],
        save_label=_("Release it"),
        cancel_url=here,
    )
    return answer_form(
        request,
        ReleaseForm(typed_in(request)),
        page,
        lambda said: release(
            request.season, pk=said["id"], what=said["what"], audience=ReleaseForm.audience
        ),
        lambda _release: (_("It is released to readers."), here),
    )


@season_page("GET", "HEAD", "POST", may=May.DIRECT)
def release_withdraw(request: PageRequest, release_id: UUID) -> HttpResponse:
    standing = Release.objects.filter(season=request.season)
    released = get_object_or_404(standing, pk=release_id)
    here = reverse("releases", args=[request.season.code])
    page = FormPage(
        title=_("Withdraw a release"),
        answer=_("Readers will no longer see: %(what)s.") % {"what": released.get_what_display()},
        save_label=_("Withdraw it"),
        cancel_url=here,
    )
    return answer_form(
        request,
        ReasonForm(typed_in(request)),
        page,
        lambda said: withdraw_release(released, reason=said["reason"]),
        lambda _release: (_("The release is withdrawn."), here),
    )
