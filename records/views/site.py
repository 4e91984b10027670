"""The site and its anchor."""

from typing import Any

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from records.forms.site import AnchorForm, SiteForm
from records.models import SiteAnchor
from records.permissions import May, sees_geographic
from records.queries.changes import entries
from records.verbs.site import edit_site, set_anchor
from records.views.doors import door_to
from records.views.form_page import FormPage, answer_form, typed_in
from records.views.frame import PageRequest, season_page


@season_page()
def site(request: PageRequest) -> HttpResponse:
    page = {
        "history": entries(request.site) if request.may(May.LEAD) else [],
        "edit_url": door_to(request, "site_edit"),
        "anchor_url": door_to(request, "anchor"),
        "grids_url": door_to(request, "grids"),
        "anchor": _anchor_shown(request),
    }
    return render(request, "site/site.html", page)


def _anchor_shown(request: PageRequest) -> SiteAnchor | None:
    if not sees_geographic(request.membership.role, request.season):
        return None
    anchor: SiteAnchor | None = SiteAnchor.objects.standing().filter(site=request.site).first()
    return anchor


@season_page("GET", "HEAD", "POST", may=May.DIRECT)
def site_edit(request: PageRequest) -> HttpResponse:
    here = reverse("site", args=[request.season.code])
    page = FormPage(
        title=_("The site"),
        answer=_("Mend what is said of the site."),
        save_label=_("Save the site"),
        cancel_url=here,
        draft=f"site-{request.site.pk}",
        history=entries(request.site),
    )

    def act(said: dict[str, Any]) -> object:
        said.pop("id")
        return edit_site(request.site, said.pop("version"), **said)

    form = SiteForm(typed_in(request), initial=SiteForm.seen(request.site))
    return answer_form(request, form, page, act, lambda _site: (_("The site is saved."), here))


@season_page(may=May.LEAD)
def anchor(request: PageRequest) -> HttpResponse:
    anchors = SiteAnchor.objects.filter(site=request.site).select_related("made_by", "voided_by")
    page = {
        "anchor": next((one for one in anchors if not one.is_voided), None),
        "former": sorted((a for a in anchors if a.is_voided), key=lambda a: a.made_at)[::-1],
        "may_direct": request.may(May.DIRECT),
    }
    return render(request, "site/anchor.html", page)


@season_page("GET", "HEAD", "POST", may=May.DIRECT)
def anchor_set(request: PageRequest) -> HttpResponse:
    here = reverse("anchor", args=[request.season.code])
    former = SiteAnchor.objects.standing().filter(site=request.site).first()
    page = FormPage(
        title=_("Where the site lies"),
        answer=_("Say where the origin of the site's frame lies on the Earth."),
        remarks=[_("Only leads and the director see it, and it goes into no public package.")],
        save_label=_("Set the anchor"),
        cancel_url=here,
        draft=f"anchor-{request.site.pk}",
    )

    def act(said: dict[str, Any]) -> object:
        for name in ("latitude_deg", "longitude_deg", "site_north_deg"):
            said[name] = float(said[name])
        return set_anchor(request.site, pk=said.pop("id"), **said)

    form = AnchorForm(typed_in(request), former=former, initial=AnchorForm.seen(former))
    return answer_form(request, form, page, act, lambda _anchor: (_("The anchor is set."), here))
