import itertools
from pathlib import Path

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.template import engines
from django.utils import timezone

from records.forms import fields
from records.queries.changes import Change
from records.templatetags.textures import SQUARE_SIDE, Cell, Evidence
from records.views.frame import season_page

SAVED: dict[str, dict[str, object]] = {}
POSTS: list[str] = []

HERE = Path(__file__).parent


def shown(request, name, context=None, status=200):
    template = engines["django"].from_string((HERE / f"{name}.html").read_text())
    return HttpResponse(template.render(context or {}, request), status=status)


class CylinderForm(forms.Form):
    size = fields.LitresField(label="Size", required=False)
    bar_in = fields.BarField(label="Pressure in", required=False)
    bar_out = fields.BarField(label="Pressure out", required=False)


class MemberForm(forms.Form):
    diver = forms.ChoiceField(choices=[("", "Choose"), ("AB", "AB"), ("CD", "CD")])
    narrative = fields.WordsField(label="What was seen and done", required=False)


class SampleForm(forms.Form):
    id = fields.RecordIdField()
    version = fields.VersionField()
    left = fields.ClockField(label="Left the surface")
    reached = fields.ClockField(
        label="Reached the surface",
        required=False,
        help_text="Leave empty while the dive is under way.",
    )
    depth = fields.MetresField(label="Greatest depth", max_value=130, decimal_places=1)
    visibility = fields.MetresField(label="Visibility", required=False, decimal_places=1)
    temperature = fields.CelsiusField(label="Temperature", required=False)
    purpose = forms.ChoiceField(
        choices=[("record", "Recording"), ("survey", "Survey"), ("rig", "Rigging")],
        widget=forms.RadioSelect,
    )
    night = forms.BooleanField(label="In the dark", required=False)
    remarks = fields.WordsField(required=False)


MemberRows = forms.formset_factory(MemberForm, extra=1, can_delete=True)
CylinderRows = forms.formset_factory(CylinderForm, extra=1, can_delete=True)


def _rows(data=None):
    members = MemberRows(data, prefix="members")
    for one in [*members.forms, members.empty_form]:
        bound = data if one.is_bound else None
        one.cylinders = CylinderRows(bound, prefix=f"{one.prefix}-cylinders")
    empty = members.empty_form
    empty.cylinders = CylinderRows(prefix=f"{empty.prefix}-cylinders")
    return members, empty


@season_page("GET", "POST", place="shed")
def form(request):
    sample = SampleForm(request.POST or None)
    members, empty = _rows(request.POST or None)
    status = 200
    if request.method == "POST":
        POSTS.append(request.POST["id"])
        status = _judge(sample)
        if status == 303:
            SAVED[request.POST["id"]] = {
                **sample.cleaned_data,
                "divers": [row.cleaned_data.get("diver") for row in members if row.is_valid()],
            }
            messages.success(request, "Dive 12 is saved.", extra_tags=f"saved:{request.POST['id']}")
            return redirect("sample_done", request.season.code)
    flat = [*members.forms, *(row for one in members.forms for row in one.cylinders.forms)]
    context = {"form": sample, "members": members, "empty": empty, "flat": flat}
    return shown(request, "form", context, status)


def _judge(sample) -> int:
    if not sample.is_valid():
        return 422
    if sample.cleaned_data["depth"] > 60 and "answer_deep" not in sample.data:
        sample.questions = {"deep": "Greatest depth 75 m: deeper than any dive so far. Was it so?"}
        return 422
    if sample.cleaned_data["remarks"] == "stale" and sample.cleaned_data["version"] < 3:
        sample.stale = [Change("Greatest depth", "18.0", "18.4"), Change("Remarks", "", "Calm.")]
        sample.stale_version = 3
        return 409
    return 303


@season_page(place="shed")
def done(request):
    return shown(request, "done")


@season_page(place="season")
def parts(request):
    return shown(request, "parts", {"now": timezone.now(), "rows": range(12)})


DRAWN = ("none", "wanted", "begun", "waiting", "sent_back", "done")
PHOTOGRAPHED = (
    ("none", 0),
    ("wanted", 0),
    ("begun", 0.2),
    ("begun", 0.5),
    ("begun", 0.9),
    ("done", 1),
)


def every_state() -> list[Evidence]:
    plain = [Evidence(d, p, s) for d, (p, s) in itertools.product(DRAWN, PHOTOGRAPHED)]
    said = [
        Evidence("wanted", "wanted", said_drawn=True),
        Evidence("wanted", "wanted", said_photographed=True),
        Evidence("wanted", "wanted", said_drawn=True, said_photographed=True),
        Evidence("begun", "begun", 0.6, said_drawn=True, said_photographed=True),
        Evidence("wanted", "wanted", drawing_exception="under an object"),
        Evidence("done", "wanted", photo_exception="nothing visible"),
        Evidence("wanted", "wanted", drawing_exception="x", photo_exception="y"),
        Evidence("sent_back", "done", said_drawn=True),
    ]
    return plain + said


def cells(columns: int, rows: int, *, labels: bool) -> list[Cell]:
    states = itertools.cycle(every_state())
    return [
        Cell(
            column=c,
            row=r,
            x=c * SQUARE_SIDE,
            y=(rows - 1 - r) * SQUARE_SIDE,
            name=f"{chr(75 + c % 16)}{r + 1}",
            words="drawing wanted; photographs said done by divers",
            evidence=next(states),
            label=f"{chr(75 + c % 16)}{r + 1}" if labels else "",
        )
        for r in range(rows)
        for c in range(columns)
    ]


@season_page(place="plan")
def plan(request):
    columns, rows = (40, 25) if "large" in request.GET else (10, 6)
    context = {
        "cells": cells(columns, rows, labels=columns < 20),
        "width": columns * SQUARE_SIDE,
        "height": rows * SQUARE_SIDE,
        "top": rows - 1,
    }
    return shown(request, "plan", context)


@season_page(place="plan")
def card(request, column, row):
    return shown(request, "card", {"column": column, "row": row})
