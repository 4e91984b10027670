"""What the director does for one person: a PIN, a link, the end of the membership."""

from uuid import UUID

from django.http import HttpResponse
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.debug import sensitive_post_parameters

from records.forms.people import NewPinForm, ReasonForm
from records.permissions import May
from records.verbs.people import end_membership, give_link, set_pin
from records.views.form_page import FormPage, answer_form, see_other, typed_in
from records.views.frame import PageRequest, season_page
from records.views.link_once import keep_link
from records.views.people import member_here


@season_page("GET", "HEAD", "POST", may=May.DIRECT)
@sensitive_post_parameters("pin", "again")
def person_pin(request: PageRequest, member_id: UUID) -> HttpResponse:
    member = member_here(request, member_id)
    here = reverse("person", args=[request.season.code, member.pk])
    page = FormPage(
        title=member.account.name,
        answer=_("A PIN lets crew sign in on the trusted tablets, with their initials."),
        save_label=_("Set the PIN"),
        cancel_url=here,
    )
    return answer_form(
        request,
        NewPinForm(typed_in(request)),
        page,
        lambda said: set_pin(member, pin=said["pin"]),
        lambda _member: (_("The PIN is set."), here),
    )


@season_page("POST", may=May.DIRECT)
def person_link(request: PageRequest, member_id: UUID) -> HttpResponse:
    member = member_here(request, member_id)
    keep_link(request, member.pk, give_link(member))
    return see_other(reverse("person", args=[request.season.code, member.pk]))


@season_page("GET", "HEAD", "POST", may=May.DIRECT)
def person_end(request: PageRequest, member_id: UUID) -> HttpResponse:
    member = member_here(request, member_id)
    page = FormPage(
        title=member.account.name,
        answer=_("The person no longer belongs to this site and can no longer open its record."),
        remarks=[_("What they recorded stays, under their name.")],
        save_label=_("End the membership"),
        cancel_url=reverse("person", args=[request.season.code, member.pk]),
    )
    return answer_form(
        request,
        ReasonForm(typed_in(request)),
        page,
        lambda said: end_membership(member, reason=said["reason"]),
        lambda _member: (
            _("The membership has ended."),
            reverse("people", args=[request.season.code]),
        ),
    )
