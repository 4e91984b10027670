"""What a verb answers when it will not: always in words that say what to do."""

from collections.abc import Mapping
from typing import Any, Protocol

from django.utils.translation import gettext as _


class Refused(Exception):
    """Nothing was written. `field` names the form field the words belong to, if one does."""

    status = 422

    def __init__(self, words: str, *, field: str | None = None) -> None:
        super().__init__(words)
        self.words = str(words)
        self.field = field


class Closed(Refused):
    """The season no longer takes this kind of entry."""

    status = 409


class Conflict(Refused):
    """Somebody else was first, or the key belongs to another record."""

    status = 409


class Stale(Refused):
    """The record was saved by somebody else after this page was drawn."""

    status = 409

    def __init__(self, current: Any, seen_version: int) -> None:
        super().__init__(
            _(
                "Somebody else saved this record while you were typing. Nothing was overwritten, "
                "and what you typed is still here. Look at what changed, then save again."
            )
        )
        self.current = current
        self.seen_version = seen_version


class Unlikely(Refused):
    """Possible but unlikely: asked once. `questions` maps a stable key to the question."""

    def __init__(self, questions: dict[str, str]) -> None:
        super().__init__(_("Please look at this once more, then save again."))
        self.questions = questions


class Unanswered(Protocol):
    """What survey answers where the data give no answer."""

    @property
    def sentence(self) -> str: ...
    @property
    def values(self) -> Mapping[str, object]: ...


def in_words(unfit: Unanswered) -> str:
    """Why survey gave no answer, in the reader's language."""
    return _(unfit.sentence) % unfit.values
