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


class Faults(Refused):
    """Several things that cannot be, each with the place it belongs to, like
    `members.0.cylinders.1.bar_out`; an empty place belongs to the whole."""

    def __init__(self, found: list[tuple[str, str]]) -> None:
        place, words = found[0]
        super().__init__(words, field=place or None)
        self.found = found


class Closed(Refused):
    """The season no longer takes this kind of entry."""

    status = 409


class Conflict(Refused):
    """Somebody else was first, or the key belongs to another record."""

    status = 409


class SavedAlready(Conflict):
    """The form's key is a record by now, and what is sent again says something else."""

    def __init__(self, record: Any) -> None:
        super().__init__(
            _("This form was saved before as %(record)s. Look at both, then decide.")
            % {"record": record}
        )
        self.record = record


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
