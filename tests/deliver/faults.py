"""Everything that may go wrong on the way, made on purpose: each as a channel, and a phrase that tells it.

The table of the tests and of `tests/bench/bench_deliver.py`.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from lightplan.deliver.copy_to import Folder
from lightplan.deliver.mail import Mailer
from lightplan.deliver.parcel import Channel
from lightplan.deliver.printer import Printer
from lightplan.site.models import Mail
from tests.deliver.mail_server import (
    USER,
    Authority,
    Handler,
    dripping,
    free_port,
    hangs_up,
    mail_server,
    raw_server,
    silent,
)

CREW = ("ann@crew.example", "ben@crew.example")
VARIABLE = "LIGHTPLAN_TEST_PASSWORD"


def mailer(folder: Path, port: int, **how: object) -> Mailer:
    known: dict[str, object] = {
        "to": CREW,
        "sender": "sheets@range.example",
        "host": "localhost",
        "port": port,
        "security": "none",
        "user": None,
        "password_env": None,
        "ca_file": None,
    }
    return Mailer(Mail(**{**known, **how}), folder, whole_s=2.5, step_s=1.5)  # type: ignore[arg-type]


@contextmanager
def lp(folder: Path, script: str) -> Iterator[None]:
    """A program called `lp`, and nothing else, on the PATH."""
    programs = folder / "programs"
    programs.mkdir(exist_ok=True)
    path = programs / "lp"
    path.write_text(f"#!/bin/sh\n{script}\n")
    path.chmod(0o755)
    before = os.environ["PATH"]
    os.environ["PATH"] = f"{programs}{os.pathsep}/usr/bin{os.pathsep}/bin"
    try:
        yield
    finally:
        os.environ["PATH"] = before


@contextmanager
def no_programs(folder: Path) -> Iterator[None]:
    before = os.environ["PATH"]
    os.environ["PATH"] = str(folder / "no-programs")
    try:
        yield
    finally:
        os.environ["PATH"] = before


@contextmanager
def variable(value: str | None) -> Iterator[None]:
    before = os.environ.pop(VARIABLE, None)
    if value is not None:
        os.environ[VARIABLE] = value
    try:
        yield
    finally:
        os.environ.pop(VARIABLE, None)
        if before is not None:
            os.environ[VARIABLE] = before


Faulty = Callable[[Path], Iterator[Channel]]


def refused(folder: Path) -> Iterator[Channel]:
    yield mailer(folder, free_port())


def unknown_host(folder: Path) -> Iterator[Channel]:
    yield mailer(folder, 587, host="mail.invalid", security="starttls")


def says_nothing(folder: Path) -> Iterator[Channel]:
    with raw_server(silent) as port:
        yield mailer(folder, port)


def drips(folder: Path) -> Iterator[Channel]:
    with raw_server(dripping) as port:
        yield mailer(folder, port)


def gone_in_the_middle(folder: Path) -> Iterator[Channel]:
    with raw_server(hangs_up) as port:
        yield mailer(folder, port)


def wrong_password(folder: Path) -> Iterator[Channel]:
    authority = Authority(folder)
    with mail_server(Handler(), authority, security="starttls", login=True) as port, variable("wrong"):
        yield mailer(
            folder,
            port,
            security="starttls",
            user=USER,
            password_env=VARIABLE,
            ca_file=str(authority.file),
        )


def no_password(folder: Path) -> Iterator[Channel]:
    authority = Authority(folder)
    with mail_server(Handler(), authority, security="starttls", login=True) as port, variable(None):
        yield mailer(
            folder, port, security="starttls", user=USER, password_env=VARIABLE, ca_file=str(authority.file)
        )


def no_starttls(folder: Path) -> Iterator[Channel]:
    with mail_server(Handler()) as port:
        yield mailer(folder, port, security="starttls")


def tls_where_starttls_is_asked(folder: Path) -> Iterator[Channel]:
    authority = Authority(folder)
    with mail_server(Handler(), authority, security="tls") as port:
        yield mailer(folder, port, security="starttls", ca_file=str(authority.file))


def starttls_where_tls_is_asked(folder: Path) -> Iterator[Channel]:
    authority = Authority(folder)
    with mail_server(Handler(), authority, security="starttls") as port:
        yield mailer(folder, port, security="tls", ca_file=str(authority.file))


def unknown_authority(folder: Path) -> Iterator[Channel]:
    with mail_server(Handler(), Authority(folder), security="starttls") as port:
        yield mailer(folder, port, security="starttls")


def another_name(folder: Path) -> Iterator[Channel]:
    authority = Authority(folder, "other.example")
    with mail_server(Handler(), authority, security="starttls") as port:
        yield mailer(folder, port, security="starttls", ca_file=str(authority.file))


def no_ca_file(folder: Path) -> Iterator[Channel]:
    yield mailer(folder, 587, security="starttls", ca_file="not-there.pem")


def nobody_taken(folder: Path) -> Iterator[Channel]:
    with mail_server(Handler(dict.fromkeys(CREW, "550 No such user here"))) as port:
        yield mailer(folder, port)


def one_not_taken(folder: Path) -> Iterator[Channel]:
    with mail_server(Handler({CREW[1]: "450 Greylisted, try again later"})) as port:
        yield mailer(folder, port)


def mailbox_full(folder: Path) -> Iterator[Channel]:
    with mail_server(Handler(after_data="552 Too much mail data")) as port:
        yield mailer(folder, port)


def no_lp(folder: Path) -> Iterator[Channel]:
    with no_programs(folder):
        yield Printer("office", 1)


def unknown_printer(folder: Path) -> Iterator[Channel]:
    with lp(folder, 'echo "lp: The printer or class does not exist." >&2; exit 1'):
        yield Printer("office", 1)


def printer_hangs(folder: Path) -> Iterator[Channel]:
    with lp(folder, "exec sleep 20"):
        yield Printer("office", 1, longest_s=0.5)


def folder_gone(folder: Path) -> Iterator[Channel]:
    yield Folder(folder / "unplugged")


def file_in_the_way(folder: Path) -> Iterator[Channel]:
    (folder / "share").write_text("a file")
    yield Folder(folder / "share")


def share_full(folder: Path) -> Iterator[Channel]:
    """A device that is always full stands for the disk; a name in it can't be made."""
    (folder / "full").mkdir()
    from lightplan.deliver import copy_to

    def no_room(path: Path, content: bytes) -> None:
        raise OSError(28, "No space left on device")

    before, copy_to.replace_file = copy_to.replace_file, no_room
    try:
        yield Folder(folder / "full")
    finally:
        copy_to.replace_file = before


def share_hangs(folder: Path) -> Iterator[Channel]:
    import time

    from lightplan.deliver import copy_to

    (folder / "slow").mkdir()

    def waits(path: Path, content: bytes) -> None:
        time.sleep(3)

    before, copy_to.replace_file = copy_to.replace_file, waits
    try:
        yield Folder(folder / "slow", longest_s=0.3)
    finally:
        copy_to.replace_file = before


@dataclass(frozen=True)
class Fault:
    name: str
    make: Faulty
    says: str
    posix: bool = False

    @contextmanager
    def made(self, folder: Path) -> Iterator[Channel]:
        inner = self.make(folder)
        try:
            yield next(inner)
        finally:
            for _ in inner:
                pass


FAULTS = (
    Fault("mail: nobody listens", refused, "refuses the connection on port"),
    Fault("mail: name not known", unknown_host, "is not reached"),
    Fault("mail: server says nothing", says_nothing, "took too long"),
    Fault("mail: server drips", drips, "took too long"),
    Fault("mail: hangs up in the message", gone_in_the_middle, "hangs up in the middle"),
    Fault("mail: wrong password", wrong_password, "refuses user or password (535"),
    Fault("mail: no password set", no_password, f"the environment variable {VARIABLE}"),
    Fault("mail: no STARTTLS there", no_starttls, "offers no STARTTLS; nothing was sent"),
    Fault("mail: TLS port, STARTTLS asked", tls_where_starttls_is_asked, 'security = "tls"'),
    Fault("mail: STARTTLS port, TLS asked", starttls_where_tls_is_asked, 'security = "starttls"'),
    Fault("mail: unknown authority", unknown_authority, "certificate that can't be trusted"),
    Fault("mail: another's certificate", another_name, "certificate that can't be trusted"),
    Fault("mail: ca_file not there", no_ca_file, "can't use ca_file"),
    Fault("mail: every address refused", nobody_taken, "refuses ann@crew.example (550"),
    Fault("mail: one address refused", one_not_taken, "refused ben@crew.example (450"),
    Fault("mail: message refused", mailbox_full, "refuses the mail (552"),
    Fault("print: no lp", no_lp, "there is no lp here"),
    Fault("print: printer not known", unknown_printer, "printer or class does not exist", posix=True),
    Fault("print: lp hangs", printer_hangs, "does not take the page within", posix=True),
    Fault("folder: gone", folder_gone, "is not there"),
    Fault("folder: a file in its place", file_in_the_way, "is not there"),
    Fault("folder: disk full", share_full, "No space left on device"),
    Fault("folder: share hangs", share_hangs, "took too long"),
)
