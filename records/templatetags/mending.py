"""What a person has to mend before a form can be saved, gathered from all its parts."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from django import template
from django.forms import BaseForm

from records.forms.saving import ANSWER

register = template.Library()


@dataclass(frozen=True)
class Fault:
    words: str
    label: str = ""
    target: str = ""


@dataclass(frozen=True)
class Question:
    name: str
    words: str
    answered: bool


@dataclass(frozen=True)
class ToMend:
    faults: list[Fault] = field(default_factory=list)
    questions: list[Question] = field(default_factory=list)
    changes: list[Any] = field(default_factory=list)
    stale: bool = False
    stale_version: int | None = None
    version_name: str = "version"


@register.simple_tag
def what_to_mend(
    form: BaseForm | str, forms: Iterable[BaseForm] | str = (), other_errors: Iterable[str] = ()
) -> ToMend:
    """`forms` are the rows of formsets, flat; `other_errors` plain sentences."""
    main: Any = form or None
    every = [one for one in (main, *(forms or ())) if one is not None]
    faults = [Fault(str(words)) for words in other_errors or ()]
    for one in every:
        faults += _faults_of(one)
    stale = hasattr(main, "stale")
    return ToMend(
        faults=[] if stale else faults,
        questions=_questions_of(main) if main is not None else [],
        changes=getattr(main, "stale", []),
        stale=stale,
        stale_version=getattr(main, "stale_version", None),
        version_name=main["version"].html_name if main and "version" in main.fields else "version",
    )


def _faults_of(form: BaseForm) -> list[Fault]:
    if not form.is_bound:
        return []
    found = [Fault(str(words)) for words in form.non_field_errors()]
    for bound in form:
        label = "" if bound.is_hidden else str(bound.label)
        target = "" if bound.is_hidden else bound.id_for_label or bound.auto_id
        found += [Fault(str(words), label, target) for words in bound.errors]
    return found


def _questions_of(form: Any) -> list[Question]:
    """Those asked now, and those confirmed before, so that no answer is lost on the way."""
    data: Mapping[str, Any] = form.data if form.is_bound else {}
    asked = getattr(form, "questions", {})
    confirmed = {name: data[name] for name in data if name.startswith(ANSWER)}
    return [
        *(
            Question(name, words, answered=True)
            for name, words in confirmed.items()
            if name.removeprefix(ANSWER) not in asked
        ),
        *(Question(ANSWER + key, str(words), answered=False) for key, words in asked.items()),
    ]
