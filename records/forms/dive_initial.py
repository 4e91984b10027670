"""What a dive's form shows at first: the dive as it stands, or what is offered on request."""

from collections.abc import Mapping
from dataclasses import fields
from typing import Any

from records.forms.task_rows import rows_of_tasks
from records.verbs.dive_entry import CylinderEntry, DiveEntry, MemberEntry


def initial_of(entry: DiveEntry) -> dict[str, Any]:
    shown = {one.name: _typed(getattr(entry, one.name)) for one in fields(entry)}
    return shown | {
        "members": [_member(member) for member in entry.members],
        "tasks": rows_of_tasks(entry.tasks),
    }


def same_team(entry: DiveEntry) -> list[Mapping[str, Any]]:
    """Who, which part, gas and cylinders; never pressures, times or narratives."""
    return [
        {
            "diver": member.diver,
            "role": member.role,
            "gas": member.gas,
            "oxygen_percent": _typed(member.oxygen_percent),
            "apparatus": member.apparatus,
            "cylinders": [{"size_l": _typed(one.size_l)} for one in member.cylinders],
        }
        for member in entry.members
    ]


def _member(member: MemberEntry) -> Mapping[str, Any]:
    shown = {one.name: _typed(getattr(member, one.name)) for one in fields(MemberEntry)}
    return shown | {"cylinders": [_cylinder(one) for one in member.cylinders]}


def _cylinder(cylinder: CylinderEntry) -> Mapping[str, Any]:
    return {one.name: _typed(getattr(cylinder, one.name)) for one in fields(CylinderEntry)}


def _typed(value: Any) -> Any:
    """A whole number as people type it, without a tail of zeros."""
    return int(value) if isinstance(value, float) and value.is_integer() else value
