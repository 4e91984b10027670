"""Unfit data, and how it is told.

Data that cannot give an answer is a result: an `Unfit` with a sentence for the person who
brought it. A wrong call raises `ValueError` with the bad value; where the value may have been
typed by a person, it is an `UnfitError`, which carries that sentence too.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field


def gettext_noop(sentence: str) -> str:
    """The sentence itself: marked here for translation, translated where it is shown."""
    return sentence


@dataclass(frozen=True)
class Unfit:
    """Why the data at hand gives no answer.

    `code` names the reason for programs; `sentence` says it to a person, in English, with
    places `%(name)s` that `values` fills. A page shows `gettext(u.sentence) % u.values`;
    `str(u)` is the English.
    """

    code: str
    sentence: str
    values: Mapping[str, object] = field(default_factory=dict)

    def __str__(self) -> str:
        return self.sentence % self.values


class UnfitError(ValueError):
    """A value that cannot be used, with the sentence for whoever typed it in `unfit`."""

    def __init__(self, unfit: Unfit) -> None:
        super().__init__(str(unfit))
        self.unfit = unfit


def demand_positive(name: str, value: float) -> None:
    """Raises ValueError, with its name, for a value that is not finite and more than 0."""
    if not 0.0 < value < math.inf:
        raise ValueError(f"The {name} must be more than 0, not {value!r}.")
