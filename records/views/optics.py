"""What a set-up's camera sees under water."""

from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import render

from records.forms.optics import OpticsForm
from records.intake.optics import optics_of
from records.views.frame import PageRequest, season_page
from records.views.set_ups import set_up_here


@season_page(place="pictures")
def set_up_optics(request: PageRequest, set_up_id: UUID) -> HttpResponse:
    set_up = set_up_here(request, set_up_id)
    form = OpticsForm.asked_of(set_up, request.GET)
    is_fit = form.is_valid()
    page = {
        "set_up": set_up,
        "form": form,
        "optics": optics_of(set_up, form.asked()) if is_fit else None,
    }
    return render(request, "photos/optics.html", page, status=200 if is_fit else 422)
