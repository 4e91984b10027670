"""People of a site: who they are, which role they have."""

from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.translation import gettext as _

from records.forms.people import KnownPersonForm, MemberForm, NewPersonForm
from records.models import Membership, Role
from records.permissions import May
from records.queries.changes import entries
from records.queries.people import former_members, members
from records.refusals import Refused
from records.verbs.people import add_member, change_member, give_link, make_account
from records.views.form_page import FormPage, answer_form, typed_in
from records.views.frame import PageRequest, season_page
from records.views.link_once import keep_link, link_to_show


@season_page(may=May.DIRECT)
def people(request: PageRequest) -> HttpResponse:
    page = {"members": members(request.site), "former": former_members(request.site)}
    return render(request, "people/people.html", page)


def _person_url(request: PageRequest, member: Membership) -> str:
    return reverse("person", args=[request.season.code, member.pk])


def member_here(request: PageRequest, member_id: UUID) -> Membership:
    every = Membership.objects.filter(site=request.site).select_related("account", "voided_by")
    member: Membership = get_object_or_404(every, pk=member_id)
    return member


@season_page("GET", "HEAD", "POST", may=May.DIRECT)
def person_new(request: PageRequest) -> HttpResponse:
    page = FormPage(
        title=_("Add a person"),
        answer=_("Say who joins, and in which role."),
        ways=[
            (
                _("They have an account already"),
                reverse("member_new", args=[request.season.code]),
            )
        ],
        save_label=_("Add the person"),
        cancel_url=reverse("people", args=[request.season.code]),
        draft="person-new",
    )

    def done(member: Membership) -> tuple[str, str]:
        if member.role == Role.CREW:
            pin = reverse("person_pin", args=[request.season.code, member.pk])
            return _("%(name)s is added. Now a PIN for the tablets.") % _named(member), pin
        if not member.account.has_usable_password():
            keep_link(request, member.pk, give_link(member))
        return _("%(name)s is added.") % _named(member), _person_url(request, member)

    return answer_form(
        request,
        NewPersonForm(typed_in(request)),
        page,
        lambda said: make_account(request.site, pk=said.pop("id"), **said),
        done,
    )


@season_page("GET", "HEAD", "POST", may=May.DIRECT)
def member_new(request: PageRequest) -> HttpResponse:
    page = FormPage(
        title=_("Add somebody who has an account"),
        answer=_("Type the sign-in name that the person has already."),
        save_label=_("Add the person"),
        cancel_url=reverse("people", args=[request.season.code]),
        draft="member-new",
    )
    return answer_form(
        request,
        KnownPersonForm(typed_in(request)),
        page,
        lambda said: add_member(request.site, pk=said.pop("id"), **said),
        lambda member: (
            _("%(name)s is added.") % _named(member),
            _person_url(request, member),
        ),
    )


def _named(member: Membership) -> dict[str, str]:
    return {"name": member.account.name}


@season_page(may=May.DIRECT)
def person(request: PageRequest, member_id: UUID) -> HttpResponse:
    member = member_here(request, member_id)
    page = {
        "member": member,
        "has_pin": bool(member.pin_hash),
        "has_password": member.account.has_usable_password(),
        "link": link_to_show(request, member.pk),
        "history": entries(member),
    }
    return render(request, "people/person.html", page)


@season_page("GET", "HEAD", "POST", may=May.DIRECT)
def person_edit(request: PageRequest, member_id: UUID) -> HttpResponse:
    member = member_here(request, member_id)
    page = FormPage(
        title=member.account.name,
        answer=_("Change name, initials or role."),
        remarks=[_("Whoever is no longer crew has no PIN any more.")],
        save_label=_("Save the person"),
        cancel_url=_person_url(request, member),
        draft=f"person-{member.pk}",
        history=entries(member),
    )

    def act(said: dict[str, Any]) -> Membership:
        if said.pop("id") != member.pk:
            raise Refused(_("This page belongs to another person. Reload it."))
        return change_member(member, said.pop("version"), **said)

    return answer_form(
        request,
        MemberForm(typed_in(request), initial=MemberForm.seen(member)),
        page,
        act,
        lambda saved: (_("%(name)s is saved.") % _named(saved), _person_url(request, saved)),
    )
