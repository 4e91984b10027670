"""Accepted frames that turn out wrong: they stood elsewhere, or are not to be used."""

from typing import Any
from uuid import UUID

from django.http import Http404, HttpResponse
from django.urls import reverse
from django.utils.translation import gettext as _

from records.forms.photographs import FrameStandsForm, LeaveOutForm
from records.models import Frame
from records.permissions import May
from records.queries.opinions import why_flagged
from records.verbs.frames import leave_out_frame, stand_frame, trust_frame, use_frame
from records.views.fieldwork import open_forms_only
from records.views.form_page import FormPage, answer_form, typed_in
from records.views.frame import PageRequest, season_page
from records.views.photographs import photo_here, photo_url


def frame_here(request: PageRequest, photo_id: UUID) -> Frame:
    photograph = photo_here(request, photo_id)
    if getattr(photograph, "frame", None) is None:
        raise Http404
    frames = Frame.objects.select_related(
        "photograph__season", "photograph__picture__file", "card__run__set_up", "row"
    )
    frame: Frame = frames.get(photograph=photograph)
    return frame


@season_page("GET", "HEAD", "POST", may=May.LEAD, place="pictures")
def frame_stand(request: PageRequest, photo_id: UUID) -> HttpResponse:
    """Put a frame where it really stood; one that was left out is used again."""
    open_forms_only(request)
    frame = frame_here(request, photo_id)
    if frame.card is None:
        raise Http404  # it stood on no tower
    form = FrameStandsForm(typed_in(request), frame=frame, initial=FrameStandsForm.seen(frame))
    page = FormPage(
        title=frame.photograph.number,
        answer=_("On which station of the run did the tower stand for this frame?"),
        remarks=[_("Its number stays as it was given. Coverage is counted again.")],
        save_label=_("Put it there") if frame.is_kept else _("Use it on this station"),
        cancel_url=photo_url(frame.photograph),
    )

    def act(said: dict[str, Any]) -> Frame:
        row, station = frame.run.stations[said["place"]]
        foot_m = float(said["foot_x_m"]), float(said["foot_y_m"])
        if not frame.is_kept:
            return use_frame(frame, row, station, foot_m, seen_version=said["version"])
        return stand_frame(frame, row, station, foot_m, seen_version=said["version"])

    return answer_form(request, form, page, act, _saved)


@season_page("GET", "HEAD", "POST", may=May.LEAD, place="pictures")
def frame_leave_out(request: PageRequest, photo_id: UUID) -> HttpResponse:
    open_forms_only(request)
    frame = frame_here(request, photo_id)
    page = FormPage(
        title=frame.photograph.number,
        answer=_("Leave this frame out? It stays a photograph and covers nothing any more."),
        save_label=_("Leave it out"),
        cancel_url=photo_url(frame.photograph),
    )
    return answer_form(
        request,
        LeaveOutForm(typed_in(request), initial={"version": frame.version}),
        page,
        lambda said: leave_out_frame(frame, said["reason"], seen_version=said["version"]),
        _saved,
    )


@season_page("GET", "HEAD", "POST", may=May.LEAD, place="pictures")
def frame_trust(request: PageRequest, photo_id: UUID) -> HttpResponse:
    """What pixels say is no order: a lead who looked may use the frame all the same."""
    open_forms_only(request)
    frame = frame_here(request, photo_id)
    if frame.card is None:
        raise Http404
    run_url = reverse("run", args=[request.season.code, frame.run.pk])
    page = FormPage(
        title=frame.photograph.number,
        answer=_("Use this frame, although its picture looks unfit? Look at it full size first."),
        remarks=[
            *why_flagged(frame),
            _("The verdict on the run then counts what it shows; history keeps who said so."),
        ],
        ways=[(_("Look at the picture"), photo_url(frame.photograph))],
        save_label=_("Use it all the same"),
        cancel_url=run_url,
    )
    return answer_form(
        request,
        LeaveOutForm(typed_in(request), initial={"version": frame.version}),
        page,
        lambda said: trust_frame(frame, said["reason"], seen_version=said["version"]),
        lambda frame: (
            _("%(number)s is used all the same.") % {"number": frame.photograph.number},
            run_url,
        ),
    )


def _saved(frame: Frame) -> tuple[str, str]:
    words = _("%(number)s is saved, and coverage is counted again.")
    return words % {"number": frame.photograph.number}, photo_url(frame.photograph)
