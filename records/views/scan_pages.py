"""What is no drawing, or cannot be one, is set aside from the pile of scans."""

from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.utils.translation import gettext as _

from records.models import FilePage
from records.permissions import May
from records.queries.scan_pages import paged_files_for
from records.verbs.pages import set_page_aside, set_scan_aside
from records.views.form_page import see_other
from records.views.frame import PageRequest, season_page
from records.views.scans import scan_here, scans_url


@season_page("POST", may=May.RECORD, place="pictures")
def scan_aside(request: PageRequest, scan_id: UUID) -> HttpResponse:
    set_scan_aside(scan_here(request, scan_id), _("It is no drawing."))
    return see_other(scans_url(request))


@season_page("POST", may=May.RECORD, place="pictures")
def page_aside(request: PageRequest, page_id: UUID) -> HttpResponse:
    seen = paged_files_for(request.season, may_lead=request.may(May.LEAD))
    page = get_object_or_404(FilePage.objects.standing().filter(paged__in=seen), pk=page_id)
    set_page_aside(page, _("It was seen to."))
    return see_other(scans_url(request))
