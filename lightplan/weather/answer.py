"""What a service said, before it is believed: the shapes that every service module takes and gives."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

import pandas as pd

from lightplan.site.models import Site, SourceName
from lightplan.weather.cloud import CloudKind

if TYPE_CHECKING:  # it brings the HTTP libraries, which a site without a service never needs
    from lightplan.weather.http import Client

Raw = dict[str, Any]  # a service's own JSON, part by part: what is kept on disk


@dataclass(frozen=True)
class Asked:
    """What is wanted: hours of the sheet's dates (UTC starts), the part that orders rest on, the clock.

    now : the sheet's clock. asked_at : the moment of asking, before it where a sheet is made ahead.
    """

    times: pd.DatetimeIndex
    dates: tuple[date, ...]
    needed_until: datetime
    now: datetime
    asked_at: datetime | None = None

    @property
    def clock(self) -> datetime:
        """When services are asked; answers are as old as they are then."""
        return self.now if self.asked_at is None else min(self.now, self.asked_at)

    @property
    def end(self) -> pd.Timestamp:
        return pd.Timestamp(self.times[-1]) + pd.Timedelta(hours=1)


@dataclass(frozen=True)
class Answer:
    """A service's answer as our table, its own hours whatever was asked.

    table : columns of `table.COLUMNS` by the hour, label = start of the hour, UTC; nan = unknown.
    issued_at : when the service made it.
    cloud : the kind of cover that light is to be worked out from, None where the service gives light;
    layers : that cover's low, middle and high part [%] where the service tells them apart.
    quarters : light by the quarter hour, where the service has it. members : light by the hour, a column for
    each member of an ensemble. above_air : the service's own light above the air, to hold its hours against
    the sun. All light in W/m².
    """

    table: pd.DataFrame
    issued_at: datetime
    cloud: CloudKind | None = None
    layers: pd.DataFrame | None = None
    quarters: pd.DataFrame | None = None
    members: pd.DataFrame | None = None
    above_air: pd.Series | None = None
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Service:
    """A weather service: how it is asked, how its answer is read, what it wants said about itself.

    ask : raises SourceFault. read : the second argument is the clock of the moment it was asked;
    raises SourceFault where the answer is not what the service promises.
    stale_h : an answer made longer ago than this is not what the service should send.
    """

    name: SourceName
    attribution: str
    ask: Callable[[Site, Asked, Client, bool], Raw]
    read: Callable[[Raw, Site, datetime], Answer]
    stale_h: float
