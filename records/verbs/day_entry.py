"""What a person says about a diving day, as plain values."""

import datetime
import uuid
from dataclasses import dataclass, field, replace


@dataclass(frozen=True)
class ShiftEntry:
    """A diving supervisor and the hours held, in the season's zone."""

    name: str
    from_time: datetime.time
    to_time: datetime.time | None = None
    id: uuid.UUID = field(default_factory=uuid.uuid4)


@dataclass(frozen=True)
class DayEntry:
    date: datetime.date
    vessel: str
    place: str
    contractor: str
    plan_reference: str = ""
    risk_assessment_reference: str = ""
    schedule_used: str = ""
    briefing: str = ""
    pre_dive_checks: str = ""
    weather: str = ""
    sea_state: str = ""
    current: str = ""
    emergency_arrangements: str = ""
    incidents: str = ""
    hours_lost: float = 0
    hours_lost_reason: str = ""
    diary: str = ""
    supervisors: tuple[ShiftEntry, ...] = ()

    def settled(self) -> "DayEntry":
        """In one order, so that two ways of saying the same are equal."""
        in_order = sorted(self.supervisors, key=lambda shift: (shift.from_time, str(shift.id)))
        return replace(self, supervisors=tuple(in_order))
