"""Files of a card on their way in: what is here already, one file by script, twenty by form."""

import json
from typing import Any
from urllib.parse import unquote
from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse, JsonResponse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from records.intake.card_files import bring_in_card_file, held
from records.intake.card_folder import ask_to_read
from records.models import Card
from records.permissions import May
from records.refusals import Refused
from records.verbs.cards import FileKey, note_listing
from records.views.cards import card_here, card_url
from records.views.form_page import see_other
from records.views.frame import PageRequest, season_page

A_FORM_TAKES = 20


@season_page("POST", may=May.RECORD, place="pictures")
def card_held(request: PageRequest, card_id: UUID) -> HttpResponse:
    """Which of the listed files are here; a whole folder's listing is kept before any of them.

    Asked as {"files": [[name, bytes, modified], …], "whole": true}; answered by their places in
    the list.
    """
    card = card_here(request, card_id)
    try:
        asked = json.loads(request.body)
        keys = [FileKey.of(str(n), int(size), int(at)) for n, size, at in asked["files"]]
        whole = bool(asked.get("whole"))
    except (ValueError, TypeError, KeyError):
        return told(Refused(_("This list of files cannot be read. Reload the page.")))
    try:
        card = note_listing(card, keys) if whole else card
    except Refused as refusal:
        return told(refusal)
    here = held(card)
    return JsonResponse({"held": [place for place, key in enumerate(keys) if key in here]})


@season_page("POST", may=May.RECORD, place="pictures")
def card_file(request: PageRequest, card_id: UUID) -> HttpResponse:
    """One file as the body of the request, streamed; its name, bytes and time in the headers."""
    card = card_here(request, card_id)
    try:
        bring_in_card_file(card, request, key_in_headers(request))
    except Refused as refusal:
        return told(refusal)
    return JsonResponse({"taken": True})


def key_in_headers(request: PageRequest) -> FileKey:
    try:
        return FileKey.of(
            unquote(request.headers["X-File-Name"], errors="strict"),
            int(request.headers["X-File-Bytes"]),
            int(request.headers.get("X-File-Modified", 0)),
        )
    except (KeyError, ValueError) as error:
        raise Refused(_("This file came without its name. Reload the page.")) from error


@season_page("POST", may=May.RECORD, place="pictures")
def card_files(request: PageRequest, card_id: UUID) -> HttpResponse:
    """Without script: up to twenty files of a form. Each is told by itself."""
    card = card_here(request, card_id)
    sent = request.FILES.getlist("files")
    if len(sent) > A_FORM_TAKES:
        words = _("A form takes at most %(most)d files at once. Nothing was kept: send fewer.")
        messages.error(request, words % {"most": A_FORM_TAKES})
        return see_other(card_url(request, card))
    refused = [words for file in sent if (words := _brought(card, file))]
    for words in refused:
        messages.error(request, words)
    taken = len(sent) - len(refused)
    said = ngettext("%(count)d file came in.", "%(count)d files came in.", taken)
    messages.success(request, said % {"count": taken})
    return see_other(card_url(request, card))


def _brought(card: Card, file: Any) -> str:
    try:
        bring_in_card_file(card, file, FileKey.of(file.name, file.size))
    except Refused as refusal:
        return f"{file.name}: {refusal.words}"
    return ""


@season_page("POST", may=May.RECORD, place="pictures")
def card_read(request: PageRequest, card_id: UUID) -> HttpResponse:
    """Read the card in this machine, as long work."""
    card = card_here(request, card_id)
    ask_to_read(card, request.POST.get("folder", ""))
    return see_other(card_url(request, card))


def told(refusal: Refused) -> JsonResponse:
    return JsonResponse({"words": refusal.words}, status=refusal.status)
