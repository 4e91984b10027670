"""The season's registers, in the order in which the index prints them."""

from records.archive.registers.base import Column, Register, Value, Viewer
from records.archive.registers.comparisons import COMPARISONS
from records.archive.registers.diving import DAYS, DIVES
from records.archive.registers.features import FEATURES
from records.archive.registers.finds import FINDS
from records.archive.registers.pictures import DRAWINGS, PHOTOGRAPHS
from records.archive.registers.sheets import SCANS, SHEETS

REGISTERS = {
    register.name: register
    for register in (
        DAYS,
        DIVES,
        SHEETS,
        SCANS,
        DRAWINGS,
        PHOTOGRAPHS,
        COMPARISONS,
        FEATURES,
        FINDS,
    )
}

__all__ = ["REGISTERS", "Column", "Register", "Value", "Viewer"]
