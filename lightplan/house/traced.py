"""What rays fly in: the cross-section, its panes and ends, and the ridge angles followed together."""

from __future__ import annotations

from dataclasses import dataclass

from lightplan.house.along import Ends, ends_of
from lightplan.house.panes import Panes, RidgeAngles, panes_of, ridge_angles
from lightplan.house.shape import Section


@dataclass(frozen=True)
class TracedHouse:
    section: Section
    panes: Panes
    ends: Ends
    angles: RidgeAngles

    @property
    def ends_send_on(self) -> bool:
        """Whether an end is solid, if only up to the knee wall, and so sends light on in all directions."""
        section = self.section
        return None in section.ends or not all(section.band_is_open)


def traced(section: Section) -> TracedHouse:
    angles = ridge_angles()
    return TracedHouse(section, panes_of(section, angles), ends_of(section, angles), angles)
