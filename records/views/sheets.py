"""Drawing sheets and coded boards: printed, listed, made void."""

from typing import Any
from uuid import UUID

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from records.archive.sheet_print import sheets_pdf
from records.forms.saving import submit
from records.forms.sheets import BoardForm, PrintForm
from records.forms.squares import ReasonForm
from records.models import PrintedSheet
from records.permissions import May
from records.queries.sheets import boards_of, printing_of, sheets_of
from records.queries.underlays import underlay_window, white_labels
from records.verbs.sheets import print_board, print_sheets, void_sheet
from records.verbs.windows import want_window
from records.views.fieldwork import may_still, open_forms_only
from records.views.form_page import FormPage, answer_form, see_other, typed_in
from records.views.frame import PageRequest, say_saved, season_page
from records.views.prints import pdf_answer


@season_page(may=May.RECORD, place="pictures")
def sheets(request: PageRequest) -> HttpResponse:
    shown, ready = sheets_of(request.season), _ready(request)
    page = {
        "sheets": shown,
        "out": sum(one.is_out for one in shown),
        "boards": boards_of(request.season),
        "ready": ready,
        "white": white_labels(ready),
        "near": any(one.layout.is_near_edge for one in ready),
        "undrawn": any(
            (window := underlay_window(one)) is not None and not window.is_made for one in ready
        ),
        "in_the_field": may_still(request, May.RECORD),
        "may_lead": request.may(May.LEAD),
    }
    return render(request, "drawings/sheets.html", page)


@season_page("GET", "HEAD", "POST", may=May.RECORD, place="pictures")
def sheets_new(request: PageRequest) -> HttpResponse:
    open_forms_only(request)
    form = PrintForm(
        request.season,
        typed_in(request),
        initial={"squares": request.GET.get("squares") or request.GET.get("square", "")},
    )
    if request.method != "POST":
        return render(request, "drawings/sheets_new.html", {"form": form})
    made, status = submit(form, lambda said: print_sheets(request.season, form.says(), said["id"]))
    if made is None:
        return render(request, "drawings/sheets_new.html", {"form": form}, status=status)
    for sheet in made:
        window = underlay_window(sheet)
        if window is not None:
            want_window(request.season, window)
    words = ngettext("%(n)d sheet is ready.", "%(n)d sheets are ready.", len(made))
    say_saved(request, made[0], words % {"n": len(made)})
    return see_other(_list_url(request, made[0]))


@season_page("GET", "HEAD", "POST", may=May.RECORD, place="pictures")
def board_new(request: PageRequest) -> HttpResponse:
    open_forms_only(request)
    form = BoardForm(request.season, typed_in(request))
    page = FormPage(
        title=_("Print a coded board"),
        answer=_("Print it once, tape film over it, photograph the film on it before you peel it."),
        save_label=_("Make the board"),
        cancel_url=reverse("sheets", args=[request.season.code]),
    )
    return answer_form(
        request,
        form,
        page,
        lambda said: print_board(request.season, form.says(), said["id"]),
        lambda made: (_("The board is ready."), _list_url(request, made)),
    )


@season_page(may=May.RECORD, place="pictures")
def sheets_print(request: PageRequest, printing: UUID) -> HttpResponse:
    """A pile, or a board, as one PDF; made as it is asked for, always with the same codes."""
    found = printing_of(request.season, printing)
    if not found:
        raise Http404
    return pdf_answer(request, "drawing-sheets", sheets_pdf(found))


@season_page(may=May.RECORD, place="pictures")
def sheet_print(request: PageRequest, sheet_id: UUID) -> HttpResponse:
    sheet = _sheet_here(request, sheet_id)
    if sheet.is_voided:
        raise Http404
    return pdf_answer(request, f"sheet-{sheet.n or sheet.mark}", sheets_pdf([sheet]))


@season_page("GET", "HEAD", "POST", may=May.LEAD, place="pictures")
def sheet_void(request: PageRequest, sheet_id: UUID) -> HttpResponse:
    sheet = _sheet_here(request, sheet_id)
    page = FormPage(
        title=_("Make %(sheet)s void") % {"sheet": sheet},
        answer=_("For a print that is lost or spoilt. A scan of it is then not filed."),
        save_label=_("Make it void"),
        cancel_url=reverse("sheets", args=[request.season.code]),
    )
    return answer_form(
        request,
        ReasonForm(typed_in(request)),
        page,
        lambda said: void_sheet(sheet, said["reason"]),
        lambda _made: (_("It is void."), reverse("sheets", args=[request.season.code])),
    )


def _sheet_here(request: PageRequest, sheet_id: UUID) -> PrintedSheet:
    of_site = PrintedSheet.objects.filter(season__site=request.site)
    found: PrintedSheet = get_object_or_404(of_site.select_related("season__site"), pk=sheet_id)
    if not found.is_board and found.season_id != request.season.pk:
        raise Http404
    return found


def _ready(request: PageRequest) -> list[PrintedSheet]:
    """The pile that was just made, offered for printing first."""
    try:
        return printing_of(request.season, UUID(request.GET.get("made", "")))
    except ValueError:
        return []


def _list_url(request: PageRequest, made: Any) -> str:
    return f"{reverse('sheets', args=[request.season.code])}?made={made.printing}"
