"""Files that come with a form: kept at once, whatever else is to be mended in it."""

from typing import Any

from records.intake.pictures import bring_in_picture, bring_in_raw
from records.models import Picture
from records.refusals import Refused
from records.views.frame import PageRequest


def kept_picture(request: PageRequest, form: Any) -> Picture | None:
    """The file is kept at once, whatever else is to be mended in the form."""
    file = form.cleaned_data.get("file")
    if not file:
        kept = form.cleaned_data.get("picture")
        return None if kept is None else _with_raw(request, form, kept)
    try:
        picture = bring_in_picture(request.season, file, file.name, size_bytes=file.size)
    except Refused as refusal:
        form.add_error("file", refusal.words)
        return None
    return _with_raw(request, form, picture)


def _with_raw(request: PageRequest, form: Any, picture: Picture) -> Picture:
    raw = form.cleaned_data.get("raw")
    if not raw:
        return picture
    try:
        return bring_in_raw(request.season, picture, raw, raw.name, size_bytes=raw.size)
    except Refused as refusal:
        form.add_error("raw", refusal.words)
        return picture
