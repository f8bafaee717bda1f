"""A transport that never reads more, or longer, than it was told; a small file may hide a huge one."""

from __future__ import annotations

import zlib
from typing import Any

import requests
from requests.adapters import HTTPAdapter
from urllib3.exceptions import HTTPError, ReadTimeoutError

from lightplan.weather.deadline import Deadline

MOST_BYTES = 8_000_000  # a fortnight of hours of fifty members is under 1 MB; judgement
PIECE = 65_536
# a server may not decide that an old answer hides a failure: that is ours to say
DROPPED_DIRECTIVES = ("stale-if-error", "stale-while-revalidate", "immutable")


class Unreadable(requests.RequestException):
    """An answer that is too big, too slow, or packed in a way nobody asked for."""


class BoundedAdapter(HTTPAdapter):
    """Reads each body whole, at most MOST_BYTES before and after unpacking, within the deadline."""

    deadline: Deadline | None = None

    def send(self, request: requests.PreparedRequest, *args: Any, **kwargs: Any) -> requests.Response:
        kwargs["stream"] = True
        response = super().send(request, *args, **kwargs)
        try:
            packed = self._read(response.raw)
        except Unreadable:
            raise
        except ReadTimeoutError as error:
            raise requests.ReadTimeout(error, request=request) from error
        except (HTTPError, OSError) as error:
            raise requests.exceptions.ChunkedEncodingError(error, request=request) from error
        finally:
            response.close()
        # requests keeps a body that was read in this field; there is no public way to hand one over
        response._content = _unpacked(packed, response.headers.get("Content-Encoding", ""))
        response._content_consumed = True  # type: ignore[attr-defined]
        for name in ("Content-Encoding", "Content-Length", "Transfer-Encoding"):
            response.headers.pop(name, None)
        _drop_directives(response)
        return response

    def _read(self, raw: Any) -> bytes:
        body = bytearray()
        while piece := raw.read1(PIECE, decode_content=False):
            body += piece
            if len(body) > MOST_BYTES:
                raise Unreadable(f"sends more than {MOST_BYTES // 1_000_000} MB")
            if self.deadline is not None and not self.deadline.left_s:
                raise Unreadable("took too long")
        return bytes(body)


def _unpacked(packed: bytes, encoding: str) -> bytes:
    encoding = encoding.strip().lower()
    if encoding in ("", "identity"):
        return packed
    if encoding not in ("gzip", "x-gzip", "deflate"):
        raise Unreadable(f'packs its answer as "{encoding[:20]}", which was not asked for')
    bare = (-zlib.MAX_WBITS,) if encoding == "deflate" else ()  # some servers leave out its header
    for wbits in (zlib.MAX_WBITS | 32, *bare):
        unpacker = zlib.decompressobj(wbits)
        try:
            body = unpacker.decompress(packed, MOST_BYTES + 1)
        except zlib.error:
            continue
        if len(body) > MOST_BYTES:
            raise Unreadable(f"unpacks to more than {MOST_BYTES // 1_000_000} MB")
        if not unpacker.eof:
            raise Unreadable("breaks off in the middle of its answer")
        return body
    raise Unreadable("sends an answer that can't be unpacked")


def _drop_directives(response: requests.Response) -> None:
    control = response.headers.get("Cache-Control")
    if control:
        kept = [part.strip() for part in control.split(",")]
        kept = [part for part in kept if part.split("=")[0].strip().lower() not in DROPPED_DIRECTIVES]
        response.headers["Cache-Control"] = ", ".join(kept)
