"""What several prints have in common: codes as pictures, and words that stand on every sheet."""

from typing import Any

from django.utils.translation import gettext as _

from survey.markers import Kind, code_for, marker_modules


def sheet_words() -> dict[str, str]:
    """Of sheets that are true to size: their numbers, and the bar to measure."""
    return {
        "page": _("Page"),
        "of": _("of"),
        "bar": _("100 mm: measure this bar; if it is not 100 mm long, print at 100 %."),
    }


def sheets_caution() -> str:
    return _(
        "Caution. These sheets plan no dive: the diving supervisor, local regulations and licensed "
        "practice decide who dives, how deep and how long."
    )


def code_svg(kind: Kind, number: int) -> str:
    """The printed code with its white rim, 10 × 10 modules; empty beyond the last of its kind."""
    try:
        modules = marker_modules(code_for(kind, number))
    except ValueError:
        return ""
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="-1 -1 10 10">'
        f'<path fill="white" d="M-1-1h10v10h-10z"/><path d="{black_path(modules)}"/></svg>'
    )


def black_path(modules: Any) -> str:
    """SVG path data of the black ones, a unit each; `modules` (n, n), row 0 the upper one."""
    return "".join(
        f"M{column} {row}h1v1h-1z" for row, column in zip(*modules.nonzero(), strict=True)
    )
