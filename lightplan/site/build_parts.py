"""Single rows → records."""

from __future__ import annotations

from lightplan.site.crop_names import crop_called
from lightplan.site.glazings import most_passed
from lightplan.site.lamp_kinds import lamp_key
from lightplan.site.models import (
    OWN,
    Batch,
    Cover,
    Deliver,
    Glazing,
    HouseShade,
    Lamps,
    Layer,
    Mail,
    OwnNeeds,
    Rate,
    Stage,
)
from lightplan.site.schema_bench import BatchRow, LampsTable
from lightplan.site.schema_deliver import DeliverTable, MailTable
from lightplan.site.schema_house import ShadeRow
from lightplan.site.schema_own import CoverTable, GlazingTable, LayerRow, NeedsTable
from lightplan.site.schema_site import RateRow


def own_glazing(name: str, table: GlazingTable) -> Glazing:
    return Glazing(
        name=name,
        layers=tuple(_layer(row) for row in table.layers),
        haze=table.haze,
        u_w_m2k=table.u_w_m2k or 0.0,
        is_film=table.film,
        source=OWN,
        checked=OWN,
    )


def _layer(row: LayerRow) -> Layer:
    """A layer; a maker's figure rounded up past what the index allows is taken down to it."""
    passed = row.normal_transmittance
    return Layer(
        n=row.n,
        normal_transmittance=None if passed is None else min(passed, most_passed(row.n)),
        extinction_per_m=row.extinction_per_m,
        thickness_mm=row.thickness_mm,
    )


def own_cover(name: str, table: CoverTable) -> Cover:
    return Cover(
        name=name,
        transmittance=table.transmittance,
        dark=bool(table.dark),
        combustible=table.combustible,
        night=table.night,
        life_h=table.life_h,
        where=table.where,
        r_m2k_w=table.r_m2k_w,
        source=OWN,
        checked=OWN,
    )


def own_need(table: NeedsTable) -> OwnNeeds:
    return OwnNeeds(**table.model_dump())


def a_rate(row: RateRow) -> Rate:
    return Rate(row.from_, row.to, row.price, row.days, frozenset(row.months))


def a_house_shade(row: ShadeRow, cover: Cover) -> HouseShade:
    return HouseShade(cover, row.from_, row.to)


def some_lamps(table: LampsTable) -> Lamps:
    return Lamps(
        ppfd_umol_m2_s=table.ppfd,
        power_kw=table.power_kw,
        kind=lamp_key(table.kind),
        place=table.place or "above",
        switch=table.switch,
        pairs=table.pairs,
        usual=table.usual,
        least_run_min=table.least_run_min,
        starts=table.starts,
        sun_enough_ppfd_umol_m2_s=table.sun_enough_ppfd,
        cooling_min=table.cooling_min,
        working=table.working,
    )


def a_batch(row: BatchRow) -> Batch:
    return Batch(
        crop=crop_called(row.crop) or row.crop,
        stage=Stage(row.stage),
        from_date=row.from_,
        to_date=row.to,
        sown=row.sown,
        trays=row.trays,
        inverted=row.day == "inverted",
    )


def a_delivery(table: DeliverTable | None) -> Deliver:
    if table is None:
        return Deliver()
    return Deliver(
        to_printer=bool(table.print),
        printer=table.printer,
        copies=table.copies,
        folder=table.folder,
        keep=table.keep,
        mail=None if table.mail is None else _mail(table.mail),
    )


def _mail(table: MailTable) -> Mail:
    assert table.port is not None  # settled
    return Mail(
        to=table.to,
        sender=table.from_,
        host=table.host,
        port=table.port,
        security=table.security,
        user=table.user,
        password_env=table.password_env,
        ca_file=table.ca_file,
    )
