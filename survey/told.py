"""A finding in words: computed, fit for use, and worth telling a person."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum


class Weight(StrEnum):
    """Whether a finding is only told, or asks for something to be done first."""

    FINE = "fine"
    MENTION = "mention"
    WARN = "warn"


@dataclass(frozen=True)
class Told:
    """A sentence for a person, in English, with places `%(name)s` that `values` fills.

    `code` names the finding for programs. A page shows `gettext(t.sentence) % t.values`;
    `str(t)` is the English.
    """

    code: str
    weight: Weight
    sentence: str
    values: Mapping[str, object] = field(default_factory=dict)

    def __str__(self) -> str:
        return self.sentence % self.values
