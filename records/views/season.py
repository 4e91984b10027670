"""The Season place: where the season stands, and the doors to all that belongs to it."""

from dataclasses import dataclass

from django.db.models import Count, Q
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from records.forms.season import SeasonForm
from records.models import Season, Site
from records.permissions import May
from records.queries.changes import entries
from records.queries.copies import second_copy_reminder
from records.queries.people import papers_in_force
from records.queries.season import standing
from records.verbs.season import edit_season
from records.views.doors import door_to
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


DOORS = {
    "archive_index": gettext_lazy("The season's index"),
    "site": gettext_lazy("The site"),
    "grids": gettext_lazy("Grids"),
    "stages": gettext_lazy("Stages"),
    "anchor": gettext_lazy("Where the site lies"),
    "divers": gettext_lazy("Divers and their papers"),
    "blocks": gettext_lazy("Numbers given out"),
    "people": gettext_lazy("People and roles"),
    "tablets": gettext_lazy("Tablets"),
    "season_edit": gettext_lazy("Season settings"),
    "releases": gettext_lazy("Releases"),
    "copies": gettext_lazy("Second copy and originals"),
    "closing": gettext_lazy("Closing the season"),
}


def doors(request: PageRequest) -> list[Door]:
    """What this person may open, some with a word on how it stands."""
    counts = _counts(request.site)
    run_out = 0
    if request.may(May.PAPERS):
        in_force = papers_in_force(request.site, request.season.today())
        run_out = sum(state.run_out for state in in_force)
    copy_due = request.may(May.DIRECT) and second_copy_reminder() != ""
    states = {
        "divers": _divers(counts["divers"], run_out),
        "people": _people(counts["people"]),
        "tablets": _tablets(counts["tablets"]),
        "copies": _("a copy is due") if copy_due else "",
    }
    wanting = {"divers"} if run_out else set()
    wanting |= {"copies"} if copy_due else set()
    return [
        Door(str(label), url, states.get(name, ""), wants=name in wanting)
        for name, label in DOORS.items()
        if (url := door_to(request, name))
    ]


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
