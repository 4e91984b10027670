"""Every PDF is set by typst, with the fonts that its package brings and no others.

Those fonts hold the Latin, Greek and Cyrillic letters; any other character is printed as its code
point, so that nothing vanishes unseen.
"""

import json
import shutil
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import typst
from django.conf import settings

HELD = ((0x0009, 0x052F), (0x1E00, 0x1FFF), (0x2010, 0x2027), (0x2030, 0x205E), (0x2070, 0x22FF))


def typeset(template: str, data: dict[str, Any], beside: Mapping[str, bytes] = {}) -> bytes:
    """The PDF of templates/print/<template>, which reads `data` from data.json beside it.

    `beside`: other files that it reads, by name.
    """
    pdf = compiled(template, data, beside, format="pdf")
    assert isinstance(pdf, bytes)  # several parts come only of pictures
    return pdf


def compiled(
    template: str, data: dict[str, Any], beside: Mapping[str, bytes] = {}, **how: Any
) -> Any:
    """As `typeset`, in another form that typst writes, such as a picture of each page."""
    with tempfile.TemporaryDirectory(prefix="print-") as folder:
        place = Path(folder)
        for part in (Path(settings.BASE_DIR) / "templates" / "print").glob("*.typ"):
            shutil.copy(part, place)
        for name, content in beside.items():
            (place / name).write_bytes(content)
        (place / "data.json").write_text(json.dumps(printable(data)), encoding="utf-8")
        compiler = typst.Compiler(
            place / template,
            root=place,
            font_paths=typst.Fonts(include_system_fonts=False, include_embedded_fonts=True),
        )
        return compiler.compile(**how)


def printable(value: Any) -> Any:
    """The same data with characters that no font holds written as their code points."""
    if isinstance(value, str):
        return "".join(one if _is_held(one) else f"[U+{ord(one):04X}]" for one in value)
    if isinstance(value, dict):
        return {key: printable(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [printable(one) for one in value]
    return value


def _is_held(character: str) -> bool:
    return any(low <= ord(character) <= high for low, high in HELD)
