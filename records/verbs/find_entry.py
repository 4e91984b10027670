"""What a person says of a find, and of where it lies."""

import datetime
from dataclasses import dataclass, fields
from typing import Any

from records.models import Dive, Diver, Find, Restriction, Season, Square, Stage, Whereabouts


@dataclass(frozen=True)
class FindEntry:
    """A find on a square in a stage, or off the grid in words. Sizes in mm, weight in g.

    `restriction` is read when the find is registered; later it has a verb of its own.
    """

    object_name: str
    found_on: datetime.date
    square: Square | None = None
    stage: Stage | None = None
    where_in_words: str = ""
    found_by: Diver | None = None
    dive: Dive | None = None
    material: str = ""
    description: str = ""
    count: int = 1
    length_mm: float | None = None
    width_mm: float | None = None
    height_mm: float | None = None
    weight_g: float | None = None
    condition: str = ""
    whereabouts: str = Whereabouts.IN_PLACE
    restriction: str = Restriction.NONE


@dataclass(frozen=True)
class FixEntry:
    """Offsets in m from the square's corner nearest −x −y; depth below the site's datum in m."""

    offset_x_m: float
    offset_y_m: float
    depth_m: float | None
    sigma_m: float


def said_of(season: Season, entry: FindEntry) -> dict[str, Any]:
    """The fields as they are kept: no blanks around words, a listed object name as the list has
    it, and a restricted find by what it is restricted for where nobody named it."""
    said = {one.name: getattr(entry, one.name) for one in fields(entry)}
    said |= {name: value.strip() for name, value in said.items() if isinstance(value, str)}
    if not said["object_name"] and entry.restriction != Restriction.NONE:
        said["object_name"] = str(Restriction(entry.restriction).label)
    listed = {name.casefold(): name for name in season.site.object_names}
    said["object_name"] = listed.get(said["object_name"].casefold(), said["object_name"])
    return said


def entry_of(find: Find) -> FindEntry:
    """The find as it stands, as a person would say it anew."""
    return FindEntry(**{one.name: getattr(find, one.name) for one in fields(FindEntry)})
