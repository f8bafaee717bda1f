"""Send what was made, and what waits from earlier runs. A fault is said; the sheet itself is safe already."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import replace
from datetime import datetime

from filelock import FileLock, Timeout

from lightplan.deliver.copy_to import Folder, folder_called
from lightplan.deliver.mail import Mailer
from lightplan.deliver.outbox import Outbox, Slip
from lightplan.deliver.parcel import Channel, Parcel, Undelivered
from lightplan.deliver.printer import Printer
from lightplan.site.models import Site

Say = Callable[[str], None]


def channels_of(site: Site) -> tuple[Channel, ...]:
    """The ways that the site file asks for, the quickest first."""
    wanted, found = site.deliver, list[Channel]()
    if wanted.folder is not None:
        found.append(Folder(folder_called(wanted.folder, site.folder)))
    if wanted.to_printer:
        found.append(Printer(wanted.printer, wanted.copies))
    if wanted.mail is not None:
        found.append(Mailer(wanted.mail, site.folder))
    return tuple(found)


def deliver(
    outbox: Outbox,
    channels: Sequence[Channel],
    parcel: Parcel | None,
    *,
    sent_at: datetime,
    say: Say,
    tell: Say,
) -> int:
    """Send a parcel by every channel, then what waits from earlier; how many slips are still undelivered.

    parcel : None = only what waits. say : faults. tell : steps that went well.
    A parcel lies in the outbox before its first try and leaves it when it got through.
    """
    slips: dict[str, Slip | None] = {}
    for channel in channels:
        if parcel is not None:
            slips[channel.name] = outbox.put(channel.name, parcel)
            if slips[channel.name] is None:
                say(f"{channel.words}: no disk takes the sheet to be kept for another try.")
    lock = FileLock(outbox.lock_path)
    with suppress(OSError):
        outbox.lock_path.parent.mkdir(parents=True, exist_ok=True)
    try:
        lock.acquire(timeout=0)
    except Timeout:
        say("Another run is delivering; the sheet is kept in the outbox for it or the next one.")
        return sum(slip is not None for slip in slips.values())
    except (OSError, NotImplementedError):
        pass  # a disk that takes no lock: a sheet sent twice is better than none
    try:
        if lock.is_locked:
            outbox.sweep()
        left = sum(
            _by(channel, outbox, parcel, slips.get(channel.name), sent_at=sent_at, say=say, tell=tell)
            for channel in channels
        )
        for gone in outbox.channels() - {channel.name for channel in channels}:
            old = outbox.pending(gone)
            outbox.drop(old)
            say(f"{len(old)} sheet(s) waited for {gone}, which site.toml asks for no more; let go.")
    finally:
        lock.release()
    for complaint in outbox.complaints:
        say(complaint)
    return left


def _by(
    channel: Channel,
    outbox: Outbox,
    parcel: Parcel | None,
    slip: Slip | None,
    *,
    sent_at: datetime,
    say: Say,
    tell: Say,
) -> int:
    """All that is to go by one channel: today's first; a channel that fails is not asked twice."""
    if parcel is not None and not _sent(
        channel, outbox, Slip(slip.path, parcel) if slip else None, parcel, sent_at, say, late=False
    ):
        return len(outbox.pending(channel.name)) or 1
    if parcel is not None:
        tell(f"{channel.words}: sheet of {parcel.day} delivered")
    waiting = outbox.pending(channel.name)
    for done, old in enumerate(waiting):
        late = old.parcel.day < sent_at.date()
        if not _sent(channel, outbox, old, old.parcel, sent_at, say, late=late):
            return len(waiting) - done
        tell(f"{channel.words}: sheet of {old.parcel.day} delivered late")
    return 0


def _sent(
    channel: Channel,
    outbox: Outbox,
    slip: Slip | None,
    parcel: Parcel,
    sent_at: datetime,
    say: Say,
    *,
    late: bool,
) -> bool:
    try:
        channel.send(parcel, sent_at, late=late)
    except Undelivered as fault:
        if fault.left and slip is not None and outbox.holds(slip):
            outbox.put(channel.name, replace(parcel, left=fault.left))
        say(f"{channel.words}: {fault}.{_kept(slip, parcel)}")
        return False
    except Exception as error:  # a way to deliver is worth less than the other ways
        say(f"{channel.words}: a fault of lightplan ({error!r:.160}).{_kept(slip, parcel)}")
        return False
    if slip is not None:
        outbox.drop([slip])
    return True


def _kept(slip: Slip | None, parcel: Parcel) -> str:
    return "" if slip is None else f" The sheet of {parcel.day} is kept and tried again at the next run."
