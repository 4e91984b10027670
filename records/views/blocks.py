"""Blocks of numbers given out ahead: find tags, pre-numbered sheets."""

from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from records.forms.blocks import BlockForm, EndForm
from records.models import NumberBlock
from records.permissions import May
from records.queries.changes import entries
from records.queries.numbers import blocks_of, fates_in_block
from records.verbs.blocks import end_numbers, give_block
from records.views.form_page import FormPage, answer_form, typed_in
from records.views.frame import PageRequest, season_page


@season_page(may=May.LEAD)
def blocks(request: PageRequest) -> HttpResponse:
    states = blocks_of(request.season)
    page = {"blocks": states, "out": sum(state.out for state in states)}
    return render(request, "season/blocks.html", page)


def _url(request: PageRequest, block: NumberBlock) -> str:
    return reverse("block", args=[request.season.code, block.pk])


@season_page("GET", "HEAD", "POST", may=May.LEAD)
def block_new(request: PageRequest) -> HttpResponse:
    page = FormPage(
        title=_("Give out numbers"),
        answer=_("Which numbers go into whose hands?"),
        save_label=_("Give them out"),
        cancel_url=reverse("blocks", args=[request.season.code]),
        draft="block-new",
    )
    form = BlockForm(typed_in(request))
    return answer_form(
        request,
        form,
        page,
        lambda said: give_block(request.season, form.says(), said["id"]),
        lambda block: (
            _("%(first)s to %(last)s are given out.") % {"first": block.first, "last": block.last},
            _url(request, block),
        ),
    )


@season_page(may=May.LEAD)
def block(request: PageRequest, block_id: UUID) -> HttpResponse:
    row = _block_here(request, block_id)
    (state,) = [one for one in blocks_of(request.season) if one.block == row]
    page = {"state": state, "runs": fates_in_block(row), "history": entries(row)}
    return render(request, "season/block.html", page)


def _block_here(request: PageRequest, block_id: UUID) -> NumberBlock:
    standing = NumberBlock.objects.standing().filter(season=request.season)
    row: NumberBlock = get_object_or_404(standing, pk=block_id)
    return row


@season_page("GET", "HEAD", "POST", may=May.LEAD)
def block_end(request: PageRequest, block_id: UUID) -> HttpResponse:
    row = _block_here(request, block_id)
    page = FormPage(
        title=_("Numbers that came back"),
        answer=_("Which of %(first)s to %(last)s came back, or are void?")
        % {"first": row.first, "last": row.last},
        save_label=_("Note it"),
        cancel_url=_url(request, row),
    )
    form = EndForm(typed_in(request))
    return answer_form(
        request,
        form,
        page,
        lambda said: end_numbers(
            row,
            said["first"],
            said["last"] or said["first"],
            end=said["end"],
            reason=said["reason"],
        )[-1],
        lambda end: (
            ngettext("%(n)s number is still out.", "%(n)s numbers are still out.", _out(row))
            % {"n": _out(row)},
            _url(request, row),
        ),
    )


def _out(block: NumberBlock) -> int:
    return block.last - block.first + 1 - int(block.ends.count())
