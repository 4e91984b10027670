"""Windows of a grid as pictures; the permission for each picture in them is asked every time."""

from django.http import FileResponse, Http404, HttpResponse, JsonResponse
from django.utils.cache import get_conditional_response
from django.utils.http import quote_etag
from django.utils.translation import gettext as _

from records.intake.windows import VERSION, GridWindow, open_window
from records.permissions import May
from records.queries.windows import may_be_seen, why_undrawn
from records.verbs.windows import want_window
from records.views.frame import PageRequest, season_page
from records.views.picture_files import for_one_person, said


@season_page(may=May.SEE, place="plan")
def window(request: PageRequest, window: str) -> HttpResponse:
    """The window as WebP; while it is not drawn, a picture that says so.

    A script that asks for JSON is told whether it is drawn.
    """
    wanted = GridWindow.from_token(window)
    if wanted is None or not may_be_seen(request.season, wanted, may_lead=request.may(May.LEAD)):
        raise Http404
    if request.accepts("application/json") and not request.accepts("image/webp"):
        return JsonResponse({"drawn": wanted.is_made})
    etag = quote_etag(f"{wanted.key}-v{VERSION}")
    unchanged = get_conditional_response(request, etag=etag)
    if unchanged is not None:
        return for_one_person(unchanged, etag)
    try:
        drawn = open_window(wanted)
    except FileNotFoundError:
        return _asked_for(request, wanted)
    return for_one_person(FileResponse(drawn, content_type="image/webp"), etag)


def _asked_for(request: PageRequest, window: GridWindow) -> HttpResponse:
    words = why_undrawn(window)
    if not words:
        want_window(request.season, window)
    return said(request, words or _("This picture is being made."))
