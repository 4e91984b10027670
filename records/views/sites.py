"""One's sites and seasons; new ones."""

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from records.forms.season import SeasonForm
from records.forms.site import NewSiteForm
from records.models import Season
from records.permissions import (
    May,
    is_administrator,
    memberships_of,
    role_may,
    seasons_for,
    signed_in_fully,
    sites_for,
)
from records.verbs.season import make_season
from records.verbs.site import make_site
from records.views.beyond_sites import ADMINISTRATOR, ANYBODY_SIGNED_IN, account_page
from records.views.form_page import FormPage, answer_form, typed_in
from records.views.frame import PageRequest, site_page


@account_page(who=ANYBODY_SIGNED_IN)
def sites(request: PageRequest) -> HttpResponse:
    seasons: dict[object, list[Season]] = {}
    for season in seasons_for(request.user):
        seasons.setdefault(season.site_id, []).append(season)
    roles = {one.site_id: one.role for one in memberships_of(request.user)}
    mine = [
        {
            "site": site,
            "seasons": seasons.get(site.pk, []),
            "directs": role_may(roles[site.pk], May.DIRECT),
        }
        for site in sites_for(request.user)
    ]
    page = {
        "sites": mine,
        "administers": is_administrator(request.user),
        "by_password": signed_in_fully(request.user),
    }
    return render(request, "site/sites.html", page)


@account_page("GET", "HEAD", "POST", who=ADMINISTRATOR)
def site_new(request: PageRequest) -> HttpResponse:
    page = FormPage(
        title=_("A new site"),
        answer=_("Name the site; its first season follows on the next page."),
        remarks=[_("A site is one wreck or one area with a frame of coordinates of its own.")],
        save_label=_("Make the site"),
        cancel_url=reverse("sites"),
        draft="site-new",
    )
    return answer_form(
        request,
        NewSiteForm(typed_in(request)),
        page,
        lambda said: make_site(pk=said.pop("id"), **said),
        lambda site: (_("The site stands."), reverse("season_new", args=[site.code])),
    )


@site_page("GET", "HEAD", "POST", may=May.DIRECT)
def season_new(request: PageRequest) -> HttpResponse:
    last = seasons_for(request.user).filter(site=request.site).first()
    page = FormPage(
        title=_("A new season"),
        answer=_("Say when the season runs and what counts as recorded."),
        save_label=_("Make the season"),
        cancel_url=reverse("sites"),
        draft=f"season-new-{request.site.code}",
    )
    return answer_form(
        request,
        form := SeasonForm(typed_in(request), initial={"zone": last.zone if last else "UTC"}),
        page,
        lambda said: make_season(request.site, pk=said["id"], says=form.says()),
        lambda season: (_("The season stands."), reverse("season", args=[season.code])),
    )
