"""A page that is one form: shown, sent to its verb, shown again with what is to be mended."""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render

from records.forms.saving import save_or_explain
from records.queries.changes import Entry
from records.views.frame import say_saved


@dataclass(frozen=True)
class FormPage:
    title: str
    answer: str
    cancel_url: str
    save_label: str = ""
    remarks: list[str] = field(default_factory=list)
    ways: list[tuple[str, str]] = field(default_factory=list)  # other pages: label, address
    draft: str = ""  # names the form on the tablet; left out where nothing may be kept
    history: list[Entry] = field(default_factory=list)


def typed_in(request: HttpRequest) -> Any:
    return request.POST if request.method == "POST" else None


def see_other(url: str) -> HttpResponse:
    return HttpResponseRedirect(url, status=303)


def answer_form(
    request: HttpRequest,
    form: Any,
    page: FormPage,
    act: Callable[[dict[str, Any]], Any],
    done: Callable[[Any], tuple[str, str]],
) -> HttpResponse:
    """`act` is given the cleaned values; `done` says of the saved record: words, where next."""
    status = 200
    if request.method == "POST":
        status = 422
        if form.is_valid():
            said = dict(form.cleaned_data)
            record, status = save_or_explain(form, lambda: act(said))
            if record is not None:
                words, url = done(record)
                say_saved(request, record, words)
                return see_other(url)
    return render(request, "form_page.html", {"form": form, "page": page}, status=status)
