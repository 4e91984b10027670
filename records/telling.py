"""How numbers are told to people: no tail of zeros, the language's own decimal sign."""

from django.utils.formats import localize


def told_number(value: float | None) -> str:
    if value is None:
        return ""
    return str(localize(int(value) if value == int(value) else value))
