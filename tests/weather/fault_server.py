"""A weather service on loopback that goes wrong on purpose: raw sockets, so that every fault can be made."""

from __future__ import annotations

import socket
import ssl
import struct
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field

Answer = Callable[[socket.socket, str], None]  # writes to the connection; the request's head


@dataclass
class Server:
    """Answers by path; `asked` holds the heads of all requests."""

    port: int
    scheme: str = "http"
    asked: list[str] = field(default_factory=list)

    @property
    def url(self) -> str:
        return f"{self.scheme}://127.0.0.1:{self.port}"


def reply(body: bytes | str, status: str = "200 OK", **headers: str) -> Answer:
    """A well-formed answer."""
    content = body.encode() if isinstance(body, str) else body
    named = {name.replace("_", "-"): value for name, value in headers.items()}
    named.setdefault("Content-Type", "application/json")
    named.setdefault("Content-Length", str(len(content)))
    head = "".join(f"{name}: {value}\r\n" for name, value in named.items())

    def answer(connection: socket.socket, request: str) -> None:
        connection.sendall(f"HTTP/1.1 {status}\r\nConnection: close\r\n{head}\r\n".encode() + content)

    return answer


def reset_in_the_middle(body: str) -> Answer:
    def answer(connection: socket.socket, request: str) -> None:
        connection.sendall(f"HTTP/1.1 200 OK\r\nContent-Length: {len(body.encode())}\r\n\r\n".encode())
        connection.sendall(body.encode()[: len(body) // 2])
        time.sleep(0.05)
        connection.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))  # RST on close

    return answer


def dripping(head_too: bool, pause_s: float, body: str = '{"a": 1}') -> Answer:
    """A byte at a time, each well within any time-out, for ever."""

    def answer(connection: socket.socket, request: str) -> None:
        if not head_too:
            connection.sendall(b"HTTP/1.1 200 OK\r\nContent-Length: 100000\r\n\r\n")
        with suppress(OSError):
            connection.sendall(b"HTTP/1.1 200 OK\r\nX-Slow: " if head_too else b"")
            while True:
                connection.sendall(b"x")
                time.sleep(pause_s)

    return answer


def endless(size: int) -> Answer:
    def answer(connection: socket.socket, request: str) -> None:
        connection.sendall(f"HTTP/1.1 200 OK\r\nContent-Length: {size}\r\n\r\n".encode())
        block = b" " * 1_000_000
        with suppress(OSError):
            for _ in range(size // len(block)):
                connection.sendall(block)

    return answer


@contextmanager
def serving(answer: Answer, *, tls: ssl.SSLContext | None = None) -> Iterator[Server]:
    """A server for the time of a `with` block; `tls` holds its certificate."""
    listener = socket.create_server(("127.0.0.1", 0))
    server = Server(listener.getsockname()[1], "https" if tls else "http")

    def handle(connection: socket.socket) -> None:
        with suppress(OSError), connection:
            wrapped = tls.wrap_socket(connection, server_side=True) if tls else connection
            with wrapped:
                head = b""
                while b"\r\n\r\n" not in head:
                    piece = wrapped.recv(65536)
                    if not piece:
                        return
                    head += piece
                    if head[:1] == b"\x16":  # a TLS greeting on a plain port: answered as web servers do
                        wrapped.sendall(b"HTTP/1.1 400 Bad Request\r\n\r\n")
                        return
                server.asked.append(head.decode("latin-1"))
                answer(wrapped, server.asked[-1])

    def accept() -> None:
        while True:
            try:
                connection, _ = listener.accept()
            except OSError:
                return
            threading.Thread(target=handle, args=(connection,), daemon=True).start()

    threading.Thread(target=accept, daemon=True).start()
    try:
        yield server
    finally:
        listener.close()


def by_path(answers: dict[str, Answer]) -> Answer:
    """The first answer whose key is part of the request's line."""

    def answer(connection: socket.socket, request: str) -> None:
        line = request.split("\r\n", 1)[0]
        for part, one in answers.items():
            if part in line:
                one(connection, request)
                return
        reply("{}", "404 Not Found")(connection, request)

    return answer
