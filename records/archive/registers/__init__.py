"""The season's registers, in the order in which the index prints them."""

from records.archive.registers.base import Column, Register, Value, Viewer
from records.archive.registers.diving import DAYS, DIVES
from records.archive.registers.finds import FINDS
from records.archive.registers.pictures import DRAWINGS, PHOTOGRAPHS

REGISTERS = {register.name: register for register in (DAYS, DIVES, DRAWINGS, PHOTOGRAPHS, FINDS)}

__all__ = ["REGISTERS", "Column", "Register", "Value", "Viewer"]
