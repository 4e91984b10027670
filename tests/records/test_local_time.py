"""Local times against Python's own zone database: Lisbon's clocks in 2026 go forward on 29 March
at 01:00 and back on 25 October at 02:00 (EU Directive 2000/84/EC: last Sundays, 01:00 UTC)."""

import datetime
from zoneinfo import ZoneInfo

import pytest

from records.local_time import instants

LISBON = ZoneInfo("Europe/Lisbon")


@pytest.mark.parametrize(
    ("on", "clock", "utc"),
    [
        ("2026-06-10", "09:05", ["2026-06-10T08:05"]),
        ("2026-01-10", "09:05", ["2026-01-10T09:05"]),
        ("2026-03-29", "00:59", ["2026-03-29T00:59"]),
        ("2026-03-29", "01:00", []),
        ("2026-03-29", "01:30", []),
        ("2026-03-29", "02:00", ["2026-03-29T01:00"]),
        ("2026-10-25", "00:59", ["2026-10-24T23:59"]),
        ("2026-10-25", "01:30", ["2026-10-25T00:30", "2026-10-25T01:30"]),
        ("2026-10-25", "02:00", ["2026-10-25T02:00"]),
    ],
)
def test_a_local_time_means_no_one_or_two_instants(on, clock, utc):
    found = instants(datetime.date.fromisoformat(on), datetime.time.fromisoformat(clock), LISBON)

    assert [f"{instant:%Y-%m-%dT%H:%M}" for instant in found] == utc
