"""One polite, patient and suspicious way to ask a service for JSON."""

from __future__ import annotations

import contextlib
import json
import sqlite3
import ssl
import unicodedata
from collections.abc import Iterator, Mapping
from datetime import timedelta
from email.utils import parsedate_to_datetime
from pathlib import Path
from typing import Any

import requests
from requests_cache import CachedSession
from requests_cache.models.response import CachedResponse
from urllib3.exceptions import NameResolutionError, NewConnectionError
from urllib3.exceptions import SSLError as InnerSSLError

import lightplan
from lightplan.weather.bounded import BoundedAdapter, Unreadable
from lightplan.weather.deadline import Deadline, Patience, within
from lightplan.weather.table import SourceFault

CACHE_NAME = "http.sqlite"
FRESH = timedelta(hours=3)  # no stored answer is taken as fresh for longer, whatever its headers say
KEPT = timedelta(days=15)  # stored answers older than this are taken away; longer than any is fresh
SECRET = "apikey"
HTTP_SIGNS = (b"<!doctype", b"<html", b"<?xml", b"<")
SAID_UNDER = ("reason", "detail", "title")
LONGEST_QUOTE = 120  # of what a service says about its refusal


class Client:
    """Asks on behalf of one site within one deadline.

    Answers with an `Expires` or `Cache-Control` header are kept in the site's cache and asked for again
    only when they ran out, then with `If-Modified-Since`. An error is never answered from the cache.
    """

    def __init__(
        self, cache_folder: Path, *, contact: str | None, patience: Patience, deadline: Deadline
    ) -> None:
        self.complaints: list[str] = []
        self.deadline = deadline
        self._patience = patience
        self._agent = f"lightplan/{lightplan.__version__} ({_header_words(contact) or 'no contact given'})"
        self._cached = self._open_cache(cache_folder.resolve() / CACHE_NAME)

    def get_json(self, url: str, params: Mapping[str, str] | None = None, *, fresh: timedelta = FRESH) -> Any:
        """The JSON at an address. Raises SourceFault with a phrase that follows the service's name."""
        return within(self.deadline, lambda: self._get_json(url, dict(params or {}), fresh))

    def _get_json(self, url: str, params: dict[str, str], fresh: timedelta) -> Any:
        response = self._get_patiently(url, params, fresh)
        try:
            return _json(response)
        except SourceFault:
            self.forget()
            raise

    def forget(self) -> None:
        """Drop every stored answer: one that was of no use must not be served again."""
        if self._cached is not None:
            with contextlib.suppress(Exception):  # whatever ails the store, the next answer is asked for
                self._cached.cache.clear()  # type: ignore[no-untyped-call]

    def _get_patiently(self, url: str, params: dict[str, str], fresh: timedelta) -> requests.Response:
        pauses = iter(self._patience.pauses_s)
        for left in reversed(range(self._patience.tries)):
            try:
                response = self._get(url, params, fresh)
            except requests.RequestException as error:
                phrase, again = _words_for(error)
                wait = next(pauses, 0.0)
            else:
                if response.status_code in (200, 203):
                    return response
                phrase, again = _words_for_status(response), response.status_code >= 500
                wait = next(pauses, 0.0)
                asked = _retry_after_s(response)
                if asked is not None:
                    wait, again = max(wait, asked), again or response.status_code == 429
            if not (again and left and self.deadline.wait(wait)):
                secret = params.get(SECRET)
                raise SourceFault(phrase.replace(secret, "(key)") if secret else phrase)
        raise AssertionError("the last try returns or raises")

    def _get(self, url: str, params: dict[str, str], fresh: timedelta) -> requests.Response:
        timeout = (
            min(self._patience.connect_s, self.deadline.left_s) or 0.01,
            min(self._patience.read_s, self.deadline.left_s) or 0.01,
        )
        # what carries a key is not stored: a redirect would repeat it in its address
        if self._cached is not None and SECRET not in params:
            try:
                answer = self._cached.get(url, params=params, timeout=timeout)
                if isinstance(answer, CachedResponse) and answer.is_older_than(fresh):
                    # asked whether it is still right, where the service has given it a stamp for that
                    stamped = "Last-Modified" in answer.headers or "ETag" in answer.headers
                    answer = self._cached.get(
                        url, params=params, timeout=timeout, refresh=stamped, force_refresh=not stamped
                    )
                return answer
            except requests.RequestException:
                raise
            except Exception as error:  # whatever ails the cache, the question can be asked without it
                self._complain(f"can't be used ({error}); it is done without")
                self._cached = None
        session = requests.Session()
        self._prepare(session)
        return session.get(url, params=params, timeout=timeout)

    def _open_cache(self, path: Path) -> CachedSession | None:
        for last in (False, True):
            try:
                path.parent.mkdir(parents=True, exist_ok=True)
                session = CachedSession(
                    str(path),
                    backend="sqlite",
                    serializer="json",
                    cache_control=True,
                    expire_after=0,  # where no header speaks: keep for If-Modified-Since, never serve
                    allowable_codes=(200, 203),
                    stale_if_error=False,
                    ignored_parameters=(SECRET,),
                    busy_timeout=2000,
                )
                session.cache.delete(older_than=KEPT)  # a broken file shows itself only when it is used
                self._prepare(session)
                return session
            except sqlite3.DatabaseError as error:
                if last or isinstance(error, sqlite3.OperationalError):
                    self._complain(f"can't be used ({error}); it is done without")
                    break
                self._complain(f"was broken ({error}) and is begun anew")
                for name in (path, path.with_name(f"{path.name}-wal"), path.with_name(f"{path.name}-shm")):
                    try:
                        name.unlink(missing_ok=True)  # nothing in it that can't be asked for again
                    except OSError:
                        return None
            except OSError as error:
                self._complain(f"can't be used ({error.strerror or error}); it is done without")
                break
        return None

    def _prepare(self, session: requests.Session) -> None:
        adapter = BoundedAdapter()
        adapter.deadline = self.deadline
        session.mount("http://", adapter)
        session.mount("https://", adapter)
        session.max_redirects = 5
        session.headers.update(
            {"User-Agent": self._agent, "Accept-Encoding": "gzip, deflate", "Accept": "application/json, */*"}
        )

    def _complain(self, what: str) -> None:
        sentence = f"the store of services' answers {what}"
        if sentence not in self.complaints:
            self.complaints.append(sentence)


def _header_words(contact: str | None) -> str:
    """A contact as a header may carry it: plain ASCII on one line."""
    plain = unicodedata.normalize("NFKD", contact or "").encode("ascii", "ignore").decode()
    return " ".join(plain.split())


def _json(response: requests.Response) -> Any:
    body = response.content.strip()
    if not body:
        raise SourceFault("sends an empty answer")
    try:
        return json.loads(body)
    except (ValueError, RecursionError):
        if body[:15].lower().startswith(HTTP_SIGNS):
            raise SourceFault("sends a web page instead of data (a login page?)") from None
        raise SourceFault("sends an answer that breaks off or is no JSON") from None


def _chain(error: BaseException) -> Iterator[BaseException]:
    """An error, what it wraps and what it came from: libraries put the cause in any of these."""
    seen: list[BaseException] = []
    waiting: list[object] = [error]
    while waiting:
        one = waiting.pop(0)
        if not isinstance(one, BaseException) or one in seen:
            continue
        seen.append(one)
        yield one
        waiting += [getattr(one, "reason", None), one.__cause__, one.__context__, *one.args]


def _words_for(error: requests.RequestException) -> tuple[str, bool]:
    """What happened, and whether another try may help."""
    causes = list(_chain(error))

    def has(*kinds: type[BaseException]) -> bool:
        return any(isinstance(cause, kinds) for cause in causes)

    if isinstance(error, Unreadable):
        return str(error), False
    if has(ssl.SSLCertVerificationError):
        return "shows a certificate that can't be trusted", False
    if has(ssl.SSLError, InnerSSLError):
        return "makes no secure connection", False
    if has(NameResolutionError):
        return "is not found by name (no internet?)", True
    if isinstance(error, requests.ConnectTimeout):
        return "does not answer the call", True
    if isinstance(error, requests.Timeout):
        return "took too long", True
    if has(ConnectionRefusedError):
        return "refuses the connection", True
    if isinstance(error, requests.TooManyRedirects):
        return "sends round in circles", False
    if has(NewConnectionError):
        return "is not reached (no internet?)", True
    if isinstance(error, (requests.exceptions.ChunkedEncodingError, requests.ConnectionError)):
        return "breaks off in the middle of its answer", True
    return f"can't be asked ({type(error).__name__})", False


def _words_for_status(response: requests.Response) -> str:
    code = response.status_code
    said = _reason(response)
    words = f"{said} (HTTP {code})" if said else f"HTTP {code}"
    if code == 304:
        return "says that nothing has changed, but nothing is stored here (HTTP 304)"
    if code == 429:
        return f"has been asked too often: {words}"
    return f"has a fault of its own: {words}" if code >= 500 else f"refuses the question: {words}"


def _reason(response: requests.Response) -> str:
    """What a service says about its refusal, in one short line; nothing where it speaks HTML."""
    try:
        body = json.loads(response.content)
    except (ValueError, RecursionError):
        return ""
    said = next((body[k] for k in SAID_UNDER if body.get(k)), "") if isinstance(body, dict) else ""
    line = "".join(c if c.isprintable() else " " for c in said) if isinstance(said, str) else ""
    return " ".join(line.split())[:LONGEST_QUOTE].rstrip(".")


def _retry_after_s(response: requests.Response) -> float | None:
    """`Retry-After` in seconds: given so, or as a date beside the answer's own `Date`."""
    text = response.headers.get("Retry-After", "").strip()
    if text.isdigit():
        return float(text)
    try:
        asked, sent = parsedate_to_datetime(text), parsedate_to_datetime(response.headers.get("Date", ""))
        return max(0.0, (asked - sent).total_seconds())
    except (ValueError, TypeError):
        return None
