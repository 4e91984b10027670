"""What is unlikely is asked once; the answer is kept with the record, in its own words."""

from collections.abc import Mapping
from typing import Any

from django.utils import timezone

from records.acting import acting_account
from records.refusals import Unlikely

NO_ANSWERS: Mapping[str, str] = {}


def kept_answers(
    asked: Mapping[str, str], answers: Mapping[str, str], kept: Mapping[str, Any]
) -> dict[str, Any]:
    """The answers to keep: each question as it was put, with who confirmed it and when.

    A question counts as answered when its very words were confirmed, so that another value asks
    again. Raises Unlikely with all questions that nobody has answered yet.
    """
    known = {key for key, words in asked.items() if kept.get(key, {}).get("question") == words}
    fresh = {key for key, words in asked.items() if answers.get(key) == words} - known
    open_questions = {key: words for key, words in asked.items() if key not in known | fresh}
    if open_questions:
        raise Unlikely(open_questions)
    by, at = acting_account(), timezone.now().isoformat(timespec="seconds")
    confirmed = {
        key: {"question": asked[key], "by": str(by.pk), "name": by.name, "at": at} for key in fresh
    }
    return {key: kept[key] for key in asked if key in known} | confirmed
