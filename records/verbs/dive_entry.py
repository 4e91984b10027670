"""What a person says about a dive, as plain values: what forms and the demo hand to the verbs."""

import datetime
import uuid
from collections.abc import Iterable
from dataclasses import dataclass, field, fields, replace
from typing import Any

from records.models import (
    IN_THE_WATER,
    Diver,
    DivingDay,
    Purpose,
    Square,
    Stage,
    TeamRole,
)


def plain_values(entry: Any, *, but: set[str]) -> dict[str, Any]:
    """The entry's own values by the name of the model's field."""
    return {one.name: getattr(entry, one.name) for one in fields(entry) if one.name not in but}


@dataclass(frozen=True)
class CylinderEntry:
    size_l: float
    bar_in: int
    bar_out: int | None = None
    id: uuid.UUID = field(default_factory=uuid.uuid4)


@dataclass(frozen=True)
class MemberEntry:
    """Own times and depth only where they differ from the dive's."""

    diver: Diver
    role: str = TeamRole.DIVER
    gas: str = ""
    oxygen_percent: float | None = None
    apparatus: str = ""
    left_surface_at: datetime.datetime | None = None
    reached_surface_at: datetime.datetime | None = None
    greatest_depth_m: float | None = None
    narrative: str = ""
    cylinders: tuple[CylinderEntry, ...] = ()
    id: uuid.UUID = field(default_factory=uuid.uuid4)

    @property
    def in_the_water(self) -> bool:
        return self.role in IN_THE_WATER


@dataclass(frozen=True)
class TaskEntry:
    """On a square in a stage, or somewhere in words; never both."""

    method: str
    outcome: str
    square: Square | None = None
    stage: Stage | None = None
    where_in_words: str = ""
    minutes: int | None = None
    id: uuid.UUID = field(default_factory=uuid.uuid4)


@dataclass(frozen=True)
class DiveEntry:
    """Times are aware instants; without `reached_surface_at` the dive is under way."""

    day: DivingDay
    left_surface_at: datetime.datetime
    reached_surface_at: datetime.datetime | None = None
    purpose: str = Purpose.RECORD
    greatest_depth_m: float | None = None
    bottom_minutes: int | None = None
    visibility_m: float | None = None
    water_temperature_c: float | None = None
    remarks: str = ""
    members: tuple[MemberEntry, ...] = ()
    tasks: tuple[TaskEntry, ...] = ()

    def settled(self) -> "DiveEntry":
        """In one order, so that two ways of saying the same are equal."""
        members = (replace(member, cylinders=_by_key(member.cylinders)) for member in self.members)
        return replace(self, members=_by_key(members), tasks=_by_key(self.tasks))

    @property
    def divers(self) -> list[Diver]:
        return [member.diver for member in self.members]

    def down_at(self, member: MemberEntry) -> datetime.datetime:
        return member.left_surface_at or self.left_surface_at

    def up_at(self, member: MemberEntry) -> datetime.datetime | None:
        return member.reached_surface_at or self.reached_surface_at


def _by_key(rows: Iterable[Any]) -> tuple[Any, ...]:
    return tuple(sorted(rows, key=lambda row: str(row.id)))
