"""A language that nobody speaks: every marked text 40 % longer and accented, decimal commas.

It stands in for German, so that numbers bear commas; texts that stay plain are not marked for
translation.
"""

import math
import re
from contextlib import contextmanager
from functools import cache

import pytest
from django.utils.translation import trans_real

PLACES = re.compile(r"(%\([a-z_]+\)[sd]|%[sd%]|\{[a-z_.]*\}|&[a-z]+;|<[^>]+>)", re.I)
FILLER = "lorem ipsum dolor sit amet "
ACCENTS = str.maketrans("aeiouAEIOUcns", "áéíóúÁÉÍÓÚçñš")


@cache
def stretched(text: str) -> str:
    """The text with accents, and two letters in five added behind it; places stay as they are."""
    if not text.strip() or not re.search(r"[A-Za-z]{2}", PLACES.sub("", text)):
        return text
    parts = PLACES.split(text)
    accented = "".join(
        part if index % 2 else part.translate(ACCENTS) for index, part in enumerate(parts)
    )
    more = max(2, math.ceil(0.4 * len(PLACES.sub("", text))))
    return f"{accented} {(FILLER * (more // len(FILLER) + 1))[: more - 1]}"


@contextmanager
def spoken(settings):
    """While it lasts the site speaks nothing else."""
    settings.LANGUAGE_CODE, settings.LANGUAGES = "de", [("de", "Stretched")]
    plain = trans_real.DjangoTranslation
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(plain, "gettext", lambda self, text: stretched(text))
        patch.setattr(
            plain, "ngettext", lambda self, one, more, n: stretched(one if n == 1 else more)
        )
        trans_real._translations.clear()
        trans_real._default = None
        yield
    trans_real._translations.clear()
    trans_real._default = None
