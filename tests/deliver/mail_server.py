"""Mail servers on loopback: a real one (aiosmtpd) with STARTTLS or TLS, and raw sockets that go wrong."""

from __future__ import annotations

import socket
import ssl
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from email import message_from_bytes, policy
from email.message import EmailMessage
from pathlib import Path

import trustme
from aiosmtpd.controller import Controller
from aiosmtpd.smtp import SMTP, AuthResult, LoginPassword

USER, PASSWORD = "grower", "tulip bulbs & 42 trays"


class Authority:
    """A certificate authority of the test's own; `file` is what a site file would name."""

    def __init__(self, folder: Path, *names: str) -> None:
        self._ca = trustme.CA()
        self.file = folder / "ca.pem"
        self._ca.cert_pem.write_to_path(str(self.file))
        self.context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        self._ca.issue_cert(*(names or ("localhost", "127.0.0.1"))).configure_cert(self.context)


class Handler:
    """Keeps what came; `refuse` holds replies by address, `after_data` a reply to the message itself."""

    def __init__(self, refuse: dict[str, str] | None = None, after_data: str = "250 OK") -> None:
        self.messages: list[EmailMessage] = []
        self.to: list[list[str]] = []
        self._refuse, self._after_data = refuse or {}, after_data

    async def handle_RCPT(self, server, session, envelope, address, options):
        if address in self._refuse:
            return self._refuse[address]
        envelope.rcpt_tos.append(address)
        return "250 OK"

    async def handle_DATA(self, server, session, envelope):
        if self._after_data.startswith("250"):
            found = message_from_bytes(envelope.content, policy=policy.default)
            assert isinstance(found, EmailMessage)
            self.messages.append(found)
            self.to.append(list(envelope.rcpt_tos))
        return self._after_data


def authenticate(server, session, envelope, mechanism, data):
    known = isinstance(data, LoginPassword) and (data.login, data.password) == (
        USER.encode(),
        PASSWORD.encode(),
    )
    return AuthResult(success=known, handled=False)


def free_port() -> int:
    with socket.create_server(("127.0.0.1", 0)) as found:
        return int(found.getsockname()[1])


class _Server(Controller):
    def __init__(self, handler: Handler, authority: Authority | None, security: str, login: bool) -> None:
        self._authority, self._security, self._login = authority, security, login
        direct = authority.context if authority and security == "tls" else None
        super().__init__(handler, hostname="127.0.0.1", port=free_port(), ssl_context=direct)

    def factory(self) -> SMTP:
        starts = self._authority.context if self._authority and self._security == "starttls" else None
        return SMTP(
            self.handler,
            hostname="mail.invented.example",
            tls_context=starts,
            require_starttls=starts is not None,
            authenticator=authenticate if self._login else None,
            auth_required=self._login,
            auth_require_tls=self._security == "starttls",
        )

    def _trigger_server(self) -> None:
        """aiosmtpd greets itself to see that it runs; over TLS that fails: it knows no authority."""
        if self.ssl_context is None:
            super()._trigger_server()
            return
        with socket.create_connection((self.hostname, self.port), timeout=5):
            pass
        for _ in range(100):
            if self.smtpd is not None:
                return
            time.sleep(0.01)


@contextmanager
def mail_server(
    handler: Handler, authority: Authority | None = None, *, security: str = "none", login: bool = False
) -> Iterator[int]:
    """A running server; gives its port."""
    server = _Server(handler, authority, security, login)
    server.start()
    try:
        yield server.port
    finally:
        server.stop()


@contextmanager
def raw_server(talk: Callable[[socket.socket], None]) -> Iterator[int]:
    """Whatever `talk` does with each connection; gives the port."""
    listener = socket.create_server(("127.0.0.1", 0))

    def accept() -> None:
        while True:
            try:
                connection, _ = listener.accept()
            except OSError:
                return
            threading.Thread(target=one, args=(connection,), daemon=True).start()

    def one(connection: socket.socket) -> None:
        with suppress(OSError), connection:
            talk(connection)

    threading.Thread(target=accept, daemon=True).start()
    try:
        yield int(listener.getsockname()[1])
    finally:
        listener.close()


def silent(connection: socket.socket) -> None:
    time.sleep(8)


def dripping(connection: socket.socket) -> None:
    """A greeting that never ends: a byte now and then keeps every time-out of the socket away."""
    for _ in range(200):
        connection.sendall(b"2")
        time.sleep(0.05)


def hangs_up(connection: socket.socket) -> None:
    """Takes all but the end of the message, then goes."""
    connection.sendall(b"220 mail.invented.example\r\n")
    file = connection.makefile("rb")
    for line in file:
        word = line[:4].upper()
        if word == b"DATA":
            connection.sendall(b"354 go on\r\n")
            file.readline()
            connection.shutdown(socket.SHUT_RDWR)
            return
        connection.sendall(b"250 mail.invented.example\r\n")
