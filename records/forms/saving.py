"""From a valid form to a verb, and from its refusal back into the form: what was typed stays."""

import datetime
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, TypeVar

from django.forms import BaseForm

from records.queries.changes import Change, changes_since, last_saved
from records.refusals import Refused, Stale, Unlikely

T = TypeVar("T")


@dataclass(frozen=True)
class Question:
    """An unlikely value, asked once (forms/_ask_once.html)."""

    key: str
    words: str
    answered: bool = False


@dataclass(frozen=True)
class Meanwhile:
    """What somebody else saved while this was typed (forms/_stale.html)."""

    who: str
    when: datetime.datetime
    version: int
    changes: list[Change] = field(default_factory=list)


def save_or_explain(form: BaseForm, act: Callable[[], T]) -> tuple[T | None, int]:
    """Run the verb; on refusal the form bears the words. Returns (record or None, HTTP status).

    A form refused as stale carries `form.stale`, one with unlikely values `form.questions`.
    """
    shown: Any = form
    try:
        return act(), 303
    except Unlikely as doubt:
        shown.questions = [Question(key, words) for key, words in doubt.questions.items()]
        return None, doubt.status
    except Stale as stale:
        shown.stale = meanwhile(stale, getattr(form, "cleaned_data", {}))
        return None, stale.status
    except Refused as refusal:
        named = refusal.field if refusal.field in form.fields else None
        form.add_error(named, refusal.words)
        return None, refusal.status


def meanwhile(stale: Stale, typed: dict[str, Any]) -> Meanwhile:
    who, when = last_saved(stale.current)
    changes = changes_since(stale.current, stale.seen_version)
    return Meanwhile(who, when, stale.current.version, [one.beside(typed) for one in changes])


def seen_version(posted: Any, form_version: int | None) -> int | None:
    """The version the person has seen: the page's own, or the one saved over knowingly."""
    over = posted.get("save_over", "")
    return int(over) if str(over).isdigit() else form_version


def answers_in(posted: Any) -> set[str]:
    """The keys of the unlikely values that the person confirmed."""
    return set(posted.getlist("it_was_so"))
