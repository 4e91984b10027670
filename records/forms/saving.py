"""From a valid form to a verb, and from its refusal back into the form: what was typed stays."""

from collections.abc import Callable
from functools import partial
from typing import Any, TypeVar

from django.forms import BaseForm

from records.queries.changes import Change, changes_since
from records.refusals import Faults, Refused, SavedAlready, Stale, Unlikely

T = TypeVar("T")
ANSWER = "answer_"


def changed_meanwhile(stale: Stale) -> list[Change]:
    return changes_since(stale.current, stale.seen_version)


def save_or_explain(
    form: BaseForm,
    act: Callable[[], T],
    *,
    changed: Callable[[Stale], list[Change]] = changed_meanwhile,
) -> tuple[T | None, int]:
    """Run the verb; on refusal the form bears the words. Returns (record or None, HTTP status).

    A form with rows has an `add_fault(place, words)` for faults beside fields of its rows;
    `changed` tells what others changed where the record has rows.
    """
    shown: Any = form
    try:
        return act(), 303
    except Unlikely as doubt:
        shown.questions = doubt.questions
        return None, doubt.status
    except Stale as stale:
        shown.stale = changed(stale)
        shown.stale_version = stale.current.version
        form.add_error(None, stale.words)
        return None, stale.status
    except SavedAlready as again:
        shown.saved_already = again.record
        form.add_error(None, again.words)
        return None, again.status
    except Faults as refusal:
        for place, words in refusal.found:
            getattr(form, "add_fault", partial(_add, form))(place, words)
        return None, refusal.status
    except Refused as refusal:
        _add(form, refusal.field or "", refusal.words)
        return None, refusal.status


def submit(
    form: BaseForm,
    act: Callable[[dict[str, Any]], T],
    changed: Callable[[Stale], list[Change]] = changed_meanwhile,
) -> tuple[T | None, int]:
    """Give a valid form's values to the verb. Returns (record or None, HTTP status)."""
    if not form.is_valid():
        return None, 422
    said = dict(form.cleaned_data)
    return save_or_explain(form, lambda: act(said), changed=changed)


def _add(form: BaseForm, field: str, words: str) -> None:
    form.add_error(field if field in form.fields else None, words)


def answers_in(data: Any) -> dict[str, str]:
    """Answers to the unlikely-value questions: key to the question that was confirmed."""
    return {name.removeprefix(ANSWER): data[name] for name in data if name.startswith(ANSWER)}
