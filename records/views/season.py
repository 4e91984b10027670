"""The Season place: where the season stands, and the doors to all that belongs to it."""

from dataclasses import dataclass

from django.db.models import Count, Q
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import NoReverseMatch, reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from records.forms.season import SeasonForm
from records.models import Season, Site
from records.permissions import May
from records.queries.changes import entries
from records.queries.people import papers_in_force
from records.queries.season import standing
from records.verbs.season import edit_season
from records.views.form_page import FormPage, answer_form, typed_in
from records.views.frame import PageRequest, season_page


@dataclass(frozen=True)
class Door:
    label: str
    url: str
    state: str = ""
    wants: bool = False


@season_page()
def season(request: PageRequest) -> HttpResponse:
    page = {
        "standing": standing(request.season, request.season.today()),
        "doors": doors(request),
        "events": request.season.events.select_related("made_by"),
        "may_record": request.may(May.RECORD),
    }
    return render(request, "season/season.html", page)


def doors(request: PageRequest) -> list[Door]:
    """What this person may open, each with a word on how it stands."""
    code = request.season.code
    asked = [(May.SEE, _("The site"), "site", ""), (May.SEE, _("Stages"), "stages", "")]
    counts = _counts(request.site)
    if request.may(May.LEAD):
        run_out = sum(one.run_out for one in papers_in_force(request.site, request.season.today()))
        asked += [
            (May.LEAD, _("Where the site lies"), "anchor", ""),
            (May.LEAD, _("Divers and their papers"), "divers", _divers(counts["divers"], run_out)),
            (May.LEAD, _("Numbers given out"), "blocks", ""),
        ]
    asked += [
        (May.DIRECT, _("People and roles"), "people", _people(counts["people"])),
        (May.DIRECT, _("Tablets"), "tablets", _tablets(counts["tablets"])),
        (May.DIRECT, _("Season settings"), "season_edit", ""),
        (May.DIRECT, _("Releases"), "releases", ""),
        (May.DIRECT, _("Closing the season"), "closing", ""),
    ]
    return [
        Door(label, url, state, wants=name == "divers" and run_out > 0)
        for may, label, name, state in asked
        if request.may(may) and (url := _url(name, code))
    ]


def _url(name: str, code: str) -> str:
    try:
        return reverse(name, args=[code])
    except NoReverseMatch:
        return ""


def _counts(site: Site) -> dict[str, int]:
    def of(related: str) -> Count:
        return Count(related, filter=Q(**{f"{related}__voided_at": None}), distinct=True)

    return Site.objects.filter(pk=site.pk).aggregate(
        people=of("memberships"), tablets=of("tablets"), divers=of("divers")
    )


def _people(count: int) -> str:
    return ngettext("%(n)s person", "%(n)s people", count) % {"n": count}


def _tablets(count: int) -> str:
    if not count:
        return _("no tablet is trusted yet")
    return ngettext("%(n)s trusted", "%(n)s trusted", count) % {"n": count}


def _divers(count: int, run_out: int) -> str:
    if run_out:
        return ngettext("%(n)s paper has run out", "%(n)s papers have run out", run_out) % {
            "n": run_out
        }
    return ngettext("%(n)s diver", "%(n)s divers", count) % {"n": count}


@season_page("GET", "HEAD", "POST", may=May.DIRECT)
def season_edit(request: PageRequest) -> HttpResponse:
    here = reverse("season", args=[request.season.code])
    page = FormPage(
        title=_("Season settings"),
        answer=_("Mend when the season runs and what counts as recorded."),
        save_label=_("Save the season"),
        cancel_url=here,
        draft=f"season-{request.season.pk}",
        history=entries(request.season),
    )
    form = SeasonForm(typed_in(request), initial=SeasonForm.seen(request.season))
    return answer_form(
        request,
        form,
        page,
        lambda said: edit_season(request.season, said["version"], says=form.says()),
        lambda season: (_("The season is saved."), _season_url(season)),
    )


def _season_url(season: Season) -> str:
    return reverse("season", args=[season.code])
