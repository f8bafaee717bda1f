"""Asking the services one by one: live, else from the last good answer that is kept."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import datetime, timedelta

from lightplan.site.models import Site, SourceName
from lightplan.weather import met_norway, nws, open_meteo
from lightplan.weather.answer import Answer, Asked, Service
from lightplan.weather.bands import NOTHING_LEARNED, SiteErrors
from lightplan.weather.deadline import Deadline, Patience
from lightplan.weather.from_service import service_weather
from lightplan.weather.http import Client
from lightplan.weather.kept_answers import KeptAnswers
from lightplan.weather.sense import believed
from lightplan.weather.shared import SharedAnswers
from lightplan.weather.table import SourceFault, Weather, WeatherError, check_table

SERVICES: dict[SourceName, Service] = {
    s.name: s for s in (open_meteo.SERVICE, nws.SERVICE, met_norway.SERVICE)
}

# A kept answer this young is as good as a fresh one where nobody is to be asked (--offline). Past the second,
# a forecast of light is hardly better than what is usual; judgement.
YOUNG, TOO_OLD = timedelta(hours=24), timedelta(hours=72)

NOTE_LATER = "the forecast was made after this sheet's own clock, so no age is given"


class Asking:
    """What one run asks of services, within one deadline."""

    def __init__(
        self,
        site: Site,
        asked: Asked,
        deadline: Deadline,
        patience: Patience,
        learned: Mapping[SourceName, SiteErrors],
        offline: bool,
        shared: SharedAnswers | None = None,
    ) -> None:
        self._site, self._asked, self._deadline, self._patience = site, asked, deadline, patience
        self._learned, self._offline = learned, offline
        self._kept = KeptAnswers(site)
        self._shared = shared

    def live(self, name: SourceName, left: int) -> Weather:
        """The service's answer of now; `left` services, this one among them, share what time is left."""
        service, site, asked = SERVICES[name], self._site, self._asked
        client = Client(
            site.folder / "cache",
            contact=site.weather.contact,
            patience=self._patience,
            deadline=self._deadline.share(left),
        )
        primary = name is site.weather.source
        if self._shared is None:
            raw, asked_at = service.ask(site, asked, client, primary), asked.clock
        else:
            raw, asked_at = self._shared.raw(
                name, site, asked, lambda of_cell: service.ask(of_cell, asked, client, primary)
            )
        try:
            answer = believed(service.read(raw, site, asked_at), site, asked)
        except SourceFault:
            client.forget()  # what was not believed is asked for anew, whatever its headers allow
            raise
        reason = None
        if (age := asked.clock - answer.issued_at) > TOO_OLD:
            raise SourceFault(f"sends a forecast that is {_hours(age)} old")
        if age > timedelta(hours=service.stale_h):
            reason = f"{name.value} sends a forecast that is {_hours(age)} old"
        if name is SourceName.OPEN_METEO and answer.cloud is not None:
            dim = "open-meteo sends no light; what its cloud lets through stands in"
            reason = dim if reason is None else f"{reason}; {dim}"
        found = self._weather(name, answer, self._earlier(name))
        self._kept.keep(name, asked_at, raw)
        complaints = dict.fromkeys([*client.complaints, *self._kept.complaints])
        return replace(found, fallback_reason=reason, notes=(*found.notes, *complaints))

    def last_good(self, name: SourceName) -> Weather:
        """The youngest kept answer that has some of the hours asked for."""
        kept = self._earlier(name)
        for answer, asked_at in kept:
            age = self._asked.clock - answer.issued_at
            try:
                believed(answer, self._site, self._asked)
            except SourceFault:
                continue
            if age > TOO_OLD:
                continue
            try:
                found = self._weather(name, answer, kept)
            except SourceFault:
                continue
            found = replace(found, notes=(*found.notes, *dict.fromkeys(self._kept.complaints)))
            if self._offline and timedelta(0) <= age <= YOUNG:
                return found
            local = asked_at.astimezone(self._site.timezone)
            old = f"{_hours(age)} old" if age >= timedelta(0) else "made after this sheet's clock"
            again = f"its answer of {local:%Y-%m-%d %H:%M}, {old}, is used"
            if self._offline:
                again = f"{name.value} was not asked; {again}"
            return replace(found, fallback_reason=again)
        raise SourceFault("was not asked, and none of its answers is kept that would serve")

    def _weather(
        self, name: SourceName, answer: Answer, earlier: Iterator[tuple[Answer, datetime]]
    ) -> Weather:
        found = service_weather(
            SERVICES[name],
            answer,
            self._site,
            self._asked,
            earlier=(older for older, _ in earlier),
            learned=self._learned.get(name, NOTHING_LEARNED),
        )
        try:
            check_table(found.table)
        except WeatherError as error:
            raise SourceFault(f"is not believed: {error}".rstrip(".")) from None
        if answer.issued_at <= self._asked.now:
            return found
        return replace(found, notes=(*found.notes, NOTE_LATER))

    def _earlier(self, name: SourceName) -> Iterator[tuple[Answer, datetime]]:
        for asked_at, raw in self._kept.newest(name, self._asked.clock):
            try:
                yield SERVICES[name].read(raw, self._site, asked_at), asked_at
            except SourceFault:
                continue


def _hours(age: timedelta) -> str:
    return f"{age.total_seconds() / 3600:.0f} h"
