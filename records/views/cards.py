"""A card: begun, its contact sheet, mended, set aside."""

from typing import Any
from uuid import UUID

from django.conf import settings
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.translation import gettext as _

from records.forms.cards import CardForm, NewCardForm, dives_to_choose
from records.forms.people import ReasonForm
from records.models import Card, CardState, PhotoRun
from records.permissions import May
from records.queries.accepted_sheet import accepted_sheet
from records.queries.card_safety import card_safety
from records.queries.cards import cards_with_all, reading_of
from records.queries.copies import second_copy_reminder
from records.queries.run_map import map_of
from records.queries.sheet import Sheet, sheet_of
from records.queries.verdict import run_verdict
from records.verbs.acceptance import accepted_by
from records.verbs.cards import begin_card, edit_card, set_card_aside
from records.views.fieldwork import may_still, open_forms_only
from records.views.form_page import FormPage, answer_form, typed_in
from records.views.frame import PageRequest, season_page

DESK, PANEL = "card-desk", "card-panel"


def card_here(request: PageRequest, card_id: UUID) -> Card:
    card: Card = get_object_or_404(cards_with_all(request.season), pk=card_id)
    return card


def card_url(request: PageRequest, card: Card, name: str = "card") -> str:
    return reverse(name, args=[request.season.code, card.pk])


@season_page("GET", "HEAD", "POST", may=May.RECORD, place="pictures")
def card_new(request: PageRequest) -> HttpResponse:
    open_forms_only(request)
    form = NewCardForm(typed_in(request), season=request.season, initial=_offered(request))
    page = FormPage(
        title=_("Bring in a card"),
        answer=_("Of which run and which dive are the frames on this card?"),
        save_label=_("Go on to the files"),
        cancel_url=reverse("pictures", args=[request.season.code]),
        ways=[(_("Plan a run"), reverse("run_plan", args=[request.season.code]))],
        draft="card-new",
    )

    def act(said: dict[str, Any]) -> Card:
        return begin_card(said["run"], said["dive"], said["id"], **form.said)

    def done(card: Card) -> tuple[str, str]:
        return _("The card is begun. Now choose its folder."), card_url(request, card)

    return answer_form(request, form, page, act, done)


def _offered(request: PageRequest) -> dict[str, Any]:
    """The run one comes from, or the only one; the latest dive that has surfaced."""
    runs = list(PhotoRun.objects.standing().filter(season=request.season)[:2])
    asked = request.GET.get("run")
    surfaced = dives_to_choose(request.season).filter(reached_surface_at__isnull=False)
    latest = surfaced.values_list("pk", flat=True).first()
    dive = request.GET.get("dive") or latest
    return {"run": asked or (runs[0].pk if len(runs) == 1 else None), "dive": dive}


@season_page(may=May.RECORD, place="pictures")
def card(request: PageRequest, card_id: UUID) -> HttpResponse:
    """The page; its desk alone while files arrive; nothing where nothing changed."""
    shown = card_here(request, card_id)
    sheet = shown_sheet(shown)
    if sheet.state and request.GET.get("unless") == sheet.state:
        return HttpResponse(status=204)
    page = desk_context(request, sheet, request.GET.get("at", ""))
    part = {DESK: "photos/_desk.html", PANEL: "photos/_panel.html"}
    wanted = part.get(request.headers.get("HX-Target", ""), "photos/card.html")
    return render(request, wanted, page)


def shown_sheet(card: Card) -> Sheet:
    return accepted_sheet(card) if card.state == CardState.ACCEPTED else sheet_of(card)


def desk_context(request: PageRequest, sheet: Sheet, at: str) -> dict[str, Any]:
    """What the desk and the page around it show; `at`: the chosen frame."""
    card = sheet.card
    waits = card.state == CardState.ARRIVING and not card.is_voided
    arriving = waits and may_still(request, May.RECORD)
    return {
        "sheet": sheet,
        "card": card,
        "map": map_of(card.run, sheet.stands),
        "others": any(value == "other" for value in sheet.stands.values()),
        "chosen": sheet.item(at),
        "arriving": arriving,
        "accepted": None if waits or card.is_voided else accepted_by(card),
        "verdict": None if waits or card.is_voided else run_verdict(card.run),
        "safety": card_safety(card),
        "copy_reminder": second_copy_reminder(),
        "folders": settings.CARD_FOLDERS if arriving else [],
        "reading": reading_of(card) if arriving and settings.CARD_FOLDERS else None,
        "most_files": settings.CARD_FILES_MAX,
        "may_direct": request.may(May.DIRECT),
    }


@season_page("GET", "HEAD", "POST", may=May.RECORD, place="pictures")
def card_edit(request: PageRequest, card_id: UUID) -> HttpResponse:
    open_forms_only(request)
    edited = card_here(request, card_id)
    form = CardForm(typed_in(request), season=request.season, initial=CardForm.seen(edited))
    page = FormPage(
        title=_("Card of dive %(n)d") % {"n": edited.dive.n},
        answer=_("Who took the frames, and how far the camera's clock was out."),
        save_label=_("Save"),
        cancel_url=card_url(request, edited),
        draft=f"card-{edited.pk}",
    )
    return answer_form(
        request,
        form,
        page,
        lambda said: edit_card(edited, seen_version=said["version"], **form.said),
        lambda saved: (_("The card is saved."), card_url(request, saved)),
    )


@season_page("GET", "HEAD", "POST", may=May.RECORD, place="pictures")
def card_aside(request: PageRequest, card_id: UUID) -> HttpResponse:
    open_forms_only(request)
    unwanted = card_here(request, card_id)
    page = FormPage(
        title=_("Card of dive %(n)d") % {"n": unwanted.dive.n},
        answer=_("Set this card aside? Its files stay kept, and another card may take them."),
        save_label=_("Set the card aside"),
        cancel_url=card_url(request, unwanted),
    )
    return answer_form(
        request,
        ReasonForm(typed_in(request)),
        page,
        lambda said: set_card_aside(unwanted, said["reason"]),
        lambda card: (_("The card is set aside."), reverse("pictures", args=[card.season.code])),
    )
