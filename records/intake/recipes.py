"""How each picture for the screen is made from an original, and where it lies."""

from dataclasses import dataclass
from functools import cached_property
from io import BytesIO
from typing import Any, BinaryIO, cast

import numpy as np
from django.core.files.base import ContentFile
from django.core.files.storage import storages
from PIL import Image

from records.intake.decode import upright
from records.models import Picture, StoredFile


@dataclass(frozen=True)
class Recipe:
    """Raise the version when the result would change: the next asking makes it anew."""

    name: str
    version: int
    longest_px: int
    quality: int


RECIPES = {
    recipe.name: recipe
    for recipe in (
        Recipe("large", 1, 4096, 85),
        Recipe("screen", 1, 1600, 82),
        Recipe("thumb", 1, 320, 78),
    )
}
TOGETHER = {"usual": ("screen", "thumb"), "large": ("large",)}
"""What is made in one go, the larger first: the smaller is made from it."""


def together_with(recipe: str) -> str:
    return next(group for group, names in TOGETHER.items() if recipe in names)


def derived_size(width_px: int, height_px: int, longest_px: int) -> tuple[int, int]:
    """Size of a derivative; never larger than the picture."""
    scale = min(1.0, longest_px / max(width_px, height_px))
    return max(1, round(width_px * scale)), max(1, round(height_px * scale))


def derived_name(file: StoredFile, orientation: int, recipe: str) -> str:
    sha, of = file.sha256, RECIPES[recipe]
    return f"derived/{sha[:2]}/{sha}/o{orientation}/{of.name}-v{of.version}.jpg"


def is_made(picture: Picture, recipe: str) -> bool:
    name = derived_name(picture.file, picture.orientation, recipe)
    return storages["default"].exists(name)


def open_derived(picture: Picture, recipe: str) -> BinaryIO:
    """Raises FileNotFoundError while it is not made."""
    name = derived_name(picture.file, picture.orientation, recipe)
    return cast(BinaryIO, storages["default"].open(name, "rb"))


def make(file: StoredFile, original: BinaryIO, orientation: int, group: str) -> None:
    """Make what is missing of a group, each whole or not at all."""
    storage = storages["default"]
    picture: Image.Image | None = None
    for recipe in (RECIPES[name] for name in TOGETHER[group]):
        size = _size(file, orientation, recipe)
        if picture is None:
            picture = upright(original, file.media_type, orientation, at_least=size)
        picture = picture.resize(size, Image.Resampling.BICUBIC, reducing_gap=2.0)
        name = derived_name(file, orientation, recipe.name)
        if not storage.exists(name):
            storage.save(name, ContentFile(_jpeg(picture, recipe.quality)))


@dataclass(frozen=True)
class Screen:
    """A picture for the screen for all who look at its pixels: decoded once, and made first if it
    is not there. So every frame is looked at through the same decoding."""

    file: StoredFile
    original: BinaryIO
    orientation: int

    @cached_property
    def picture(self) -> Image.Image:
        storage = storages["default"]
        name = derived_name(self.file, self.orientation, RECIPES["screen"].name)
        if not storage.exists(name):
            make(self.file, self.original, self.orientation, "usual")
        with storage.open(name, "rb") as stored, Image.open(cast(BinaryIO, stored)) as picture:
            return picture.convert("RGB")

    @cached_property
    def rgb(self) -> Any:
        """(h, w, 3) of uint8."""
        return np.asarray(self.picture)

    @cached_property
    def grey(self) -> Any:
        """(h, w) of uint8."""
        return np.asarray(self.picture.convert("L"))


def _size(file: StoredFile, orientation: int, recipe: Recipe) -> tuple[int, int]:
    if file.width_px is None or file.height_px is None:
        raise ValueError(f"{file.media_type!r} has no size: it is kept, not shown")
    size = (file.width_px, file.height_px)
    return derived_size(*(size if orientation < 5 else size[::-1]), recipe.longest_px)


def _jpeg(picture: Image.Image, quality: int) -> bytes:
    out = BytesIO()
    picture.save(out, "JPEG", quality=quality)
    return out.getvalue()
