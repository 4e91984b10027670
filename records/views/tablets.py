"""Tablets that the director trusts."""

from typing import Any
from uuid import UUID

from django.conf import settings
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.translation import gettext as _

from records.crew_session import tablet_of
from records.forms.people import ReasonForm, TabletForm
from records.models import TrustedTablet
from records.permissions import May
from records.queries.people import trusted_tablets
from records.sign_in import TABLET_COOKIE
from records.verbs.tablets import distrust_tablet, trust_tablet
from records.views.form_page import FormPage, answer_form, typed_in
from records.views.frame import PageRequest, season_page

YEAR_S = 366 * 24 * 3600


@season_page(may=May.DIRECT)
def tablets(request: PageRequest) -> HttpResponse:
    this = tablet_of(request)
    page = {"tablets": trusted_tablets(request.site), "this": this}
    return render(request, "people/tablets.html", page)


@season_page("GET", "HEAD", "POST", may=May.DIRECT)
def tablet_trust(request: PageRequest) -> HttpResponse:
    here = reverse("tablets", args=[request.season.code])
    tokens: list[str] = []

    def act(said: dict[str, Any]) -> TrustedTablet:
        tablet, token = trust_tablet(request.site, pk=said["id"], name=said["name"])
        tokens.append(token)
        return tablet

    page = FormPage(
        title=_("Trust this tablet"),
        answer=_("Crew can then sign in on this device with initials and PIN."),
        remarks=[
            _("Do this on the tablet itself, and only if it stays with the team."),
            _("Sign out before you hand it over."),
        ],
        save_label=_("Trust this tablet"),
        cancel_url=here,
    )
    words = _("This tablet is trusted. Sign out before you hand it over.")
    response = answer_form(
        request, TabletForm(typed_in(request)), page, act, lambda _tablet: (words, here)
    )
    for token in tokens:
        response.set_cookie(
            TABLET_COOKIE,
            token,
            max_age=YEAR_S,
            httponly=True,
            secure=settings.SESSION_COOKIE_SECURE,
            samesite="Lax",
        )
    return response


@season_page("GET", "HEAD", "POST", may=May.DIRECT)
def tablet_distrust(request: PageRequest, tablet_id: UUID) -> HttpResponse:
    mine = TrustedTablet.objects.filter(site=request.site)
    tablet = get_object_or_404(mine, pk=tablet_id)
    here = reverse("tablets", args=[request.season.code])
    page = FormPage(
        title=tablet.name,
        answer=_("Nobody can sign in by PIN on this tablet any more; who is signed in, is out."),
        save_label=_("Trust it no longer"),
        cancel_url=here,
    )
    return answer_form(
        request,
        ReasonForm(typed_in(request)),
        page,
        lambda said: distrust_tablet(tablet, reason=said["reason"]),
        lambda _tablet: (_("The tablet is no longer trusted."), here),
    )
