"""One tap photographs the slate into its dive."""

from uuid import UUID, uuid5

from django.contrib import messages
from django.http import HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils.translation import gettext as _

from records.intake.arrival import Readable
from records.intake.pictures import bring_in_picture
from records.models import Dive, Photograph, PhotoKind
from records.permissions import May
from records.refusals import Refused
from records.verbs.photographs import PhotographEntry, record_photograph
from records.views.card_files import key_in_headers, told
from records.views.form_page import see_other
from records.views.frame import PageRequest, say_saved, season_page


@season_page("POST", may=May.RECORD, place="shed")
def dive_slate(request: PageRequest, dive_id: UUID) -> HttpResponse:
    """By script as the body of the request, else as a form's file."""
    dive = get_object_or_404(Dive.objects.standing(), season=request.season, pk=dive_id)
    if request.content_type == "application/octet-stream":
        return _by_script(request, dive)
    back = f"{reverse('dive', args=[request.season.code, dive.pk])}#slates"
    file = request.FILES.get("slate")
    try:
        if file is None:
            raise Refused(_("No photograph came with this. Take it again."))
        slate = _taken(dive, file, file.name or "", file.size)
    except Refused as refusal:
        messages.error(request, refusal.words)
        return see_other(back)
    say_saved(request, slate, _("The slate is kept as %(number)s.") % {"number": slate.number})
    return see_other(back)


def _by_script(request: PageRequest, dive: Dive) -> HttpResponse:
    try:
        key = key_in_headers(request)
        slate = _taken(dive, request, key.base_name, key.size_bytes)
    except Refused as refusal:
        return told(refusal)
    say_saved(request, slate, _("The slate is kept as %(number)s.") % {"number": slate.number})
    return JsonResponse({"taken": True})


def _taken(dive: Dive, stream: Readable, name: str, size_bytes: int | None) -> Photograph:
    """The same file sent again is the same slate: its key follows from the picture's."""
    picture = bring_in_picture(dive.season, stream, name, size_bytes=size_bytes)
    entry = PhotographEntry(
        PhotoKind.SLATE, dive=dive, subject=_("Slate of dive %(n)d") % {"n": dive.n}
    )
    return record_photograph(dive.season, picture, entry, uuid5(picture.pk, str(dive.pk)))
