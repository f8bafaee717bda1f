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


def traced(section: Section) -> TracedHouse:
    angles = ridge_angles()
    return TracedHouse(section, panes_of(section, angles), ends_of(section, angles), angles)
