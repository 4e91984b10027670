"""How kinds of traced features are told apart without colour: by line, by filling, by letters.

Neither line nor filling repeats a texture that stands for evidence on the plan: no diagonal hatch,
no field of dots.
"""

from dataclasses import dataclass


@dataclass(frozen=True)
class Look:
    """A line and a filling; mm on paper.

    `dash_mm`: lengths drawn and left out in turn, empty for an unbroken line. `tile_mm`: width and
    height of the filling's tile, on which `marks` is drawn (SVG path data, mm, y down); an empty
    `marks` leaves the area open. `is_solid`: filled whole.
    """

    line_mm: float
    dash_mm: tuple[float, ...]
    tile_mm: tuple[float, float]
    marks: str
    is_solid: bool = False


# In the order in which a site's kinds take them.
LOOKS: tuple[Look, ...] = (
    Look(0.5, (), (9.0, 3.6), "M0 .9H6M7.5 .9H9M0 2.7H2M3.5 2.7H9"),  # grain
    Look(0.5, (5.0, 1.2), (2.4, 2.4), "M1.2 0V2.4"),  # upright boards
    Look(0.8, (), (1.0, 1.0), "", is_solid=True),  # small and dark
    Look(0.4, (1.6, 1.2), (4.4, 4.4), "M1.2 2.2a1 1 0 1 0 2 0a1 1 0 1 0-2 0"),  # rings
    Look(0.4, (3.2, 1.0, 0.5, 1.0), (4.0, 4.0), "M2 .9V3.1M.9 2H3.1"),  # crosses
    Look(0.6, (0.6, 1.0), (4.8, 3.0), "M0 2 1.2 1 2.4 2 3.6 1 4.8 2"),  # zigzag
    Look(0.7, (6.0, 1.0, 1.4, 1.0), (3.2, 3.2), "M0 1.6H3.2M1.6 0V3.2"),  # lattice
    Look(0.4, (2.6, 2.2), (5.0, 4.2), "M1.2 1.2 2.5 3 3.8 1.2"),  # ticks
    Look(0.5, (2.4, 0.9, 0.5, 0.9, 0.5, 0.9), (1.0, 1.0), ""),  # open
    Look(0.5, (1.0, 0.7, 3.4, 0.7), (4.6, 4.6), "M2.3 .9 3.7 3.5H.9Z"),  # triangles
    Look(0.5, (7.0, 2.4), (5.2, 3.6), "M0 0H5.2M0 1.8H5.2M1.3 0V1.8M3.9 1.8V3.6"),  # courses
    Look(0.7, (0.9, 0.7, 0.9, 2.0), (4.0, 4.0), "M1 1 3 3M3 1 1 3"),  # saltires
)


def look_of(number: int) -> Look:
    """Look `number`, counted from 0; beyond the last they begin anew."""
    return LOOKS[number % len(LOOKS)]
