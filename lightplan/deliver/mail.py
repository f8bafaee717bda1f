"""The sheet by mail: PDF and calendar attached, the orders as text, over an encrypted way only."""

from __future__ import annotations

import os
import smtplib
import ssl
from dataclasses import dataclass
from datetime import datetime
from email.message import EmailMessage
from email.utils import format_datetime
from pathlib import Path
from urllib.parse import quote

from lightplan.deliver.parcel import Parcel, Undelivered
from lightplan.site.models import Mail
from lightplan.weather.deadline import Deadline, within
from lightplan.weather.table import SourceFault

WHOLE_S, STEP_S = 45.0, 15.0  # one mail in all, and one answer of the server
LONGEST_QUOTE = 200
TYPES = {".pdf": ("application", "pdf"), ".ics": ("text", "calendar"), ".html": ("text", "html")}
KEYRING_SERVICE = "lightplan"


@dataclass(frozen=True)
class Mailer:
    """site_folder : what a relative `ca_file` counts from. whole_s, step_s : how long a server may take."""

    mail: Mail
    site_folder: Path
    whole_s: float = WHOLE_S
    step_s: float = STEP_S
    name: str = "mail"

    @property
    def words(self) -> str:
        return f"Mail by {self.mail.host}"

    def send(self, parcel: Parcel, sent_at: datetime, *, late: bool) -> None:
        to = tuple(a for a in self.mail.to if a in parcel.left) if parcel.left else self.mail.to
        if not to:  # those it still waited for are no longer in the site file
            return
        message = message_of(parcel, self.mail.sender, to, sent_at, late=late)
        secret = None if self.mail.user is None else password(self.mail)
        try:
            refused = within(Deadline(self.whole_s), lambda: self._hand_over(message, to, secret))
        except SourceFault as fault:
            raise Undelivered(_too_slow(self.mail)) from fault
        except (OSError, smtplib.SMTPException, ValueError) as error:
            raise Undelivered(_words_for(error, self.mail)) from error
        if refused:
            told = ", ".join(f"{address} ({_reply(*answer)})" for address, answer in refused.items())
            raise Undelivered(f"reached only some: refused {told}", tuple(refused))

    def _hand_over(
        self, message: EmailMessage, to: tuple[str, ...], secret: str | None
    ) -> dict[str, tuple[int, bytes]]:
        """Give the message to the server; the addresses it refused."""
        how = self.mail
        secure = None if how.security == "none" else self._trust()
        if how.security == "tls":
            server: smtplib.SMTP = smtplib.SMTP_SSL(how.host, how.port, timeout=self.step_s, context=secure)
        else:
            server = smtplib.SMTP(how.host, how.port, timeout=self.step_s)
        try:
            if how.security == "starttls":
                server.starttls(context=secure)
            if how.user is not None and secret is not None:
                server.login(how.user, secret)
            return server.send_message(message, from_addr=how.sender, to_addrs=list(to))
        finally:
            try:
                server.quit()
            except (OSError, smtplib.SMTPException):
                server.close()

    def _trust(self) -> ssl.SSLContext:
        if self.mail.ca_file is None:
            return ssl.create_default_context()
        path = self.site_folder / Path(self.mail.ca_file).expanduser()
        try:
            return ssl.create_default_context(cafile=str(path))
        except OSError as error:  # ssl.SSLError is one too
            raise Undelivered(f"can't use ca_file {path} ({error.strerror or error})") from error


def message_of(
    parcel: Parcel, sender: str, to: tuple[str, ...], sent_at: datetime, *, late: bool
) -> EmailMessage:
    """The mail of a parcel. Its Message-ID is the parcel's own: one that was sent twice can be told."""
    message = EmailMessage()
    message["Subject"] = f"Late: {parcel.subject}" if late else parcel.subject
    message["From"] = sender
    message["To"] = ", ".join(to)
    message["Date"] = format_datetime(sent_at)
    made = f"{parcel.made_at:%Y%m%dT%H%M%S}"
    message["Message-ID"] = f"<lightplan.{quote(parcel.site)}.{made}@{sender.rpartition('@')[2]}>"
    message["Auto-Submitted"] = "auto-generated"  # RFC 3834: no out-of-office answers
    first = (
        f"This sheet was made at {parcel.made_at:%H:%M} on {parcel.day} and comes late.\n\n" if late else ""
    )
    message.set_content(first + parcel.text)
    wanted = (".pdf", ".ics") if parcel.content(".pdf") is not None else (".html", ".ics")
    for name, content in parcel.files:
        suffix = Path(name).suffix
        if suffix not in wanted:
            continue
        main, sub = TYPES[suffix]
        # as bytes, texts too: a calendar's lines must end as they do
        charset = {"charset": "utf-8"} if main == "text" else None
        message.add_attachment(content, maintype=main, subtype=sub, filename=name, params=charset)
    return message


def password(mail: Mail) -> str:
    """The password, from the environment, else from the keyring. Raises Undelivered."""
    if mail.password_env is not None:
        if found := os.environ.get(mail.password_env):
            return found
        raise Undelivered(f"the environment variable {mail.password_env} with the password is not set")
    whose = f"{mail.user}@{mail.host}"
    try:
        import keyring

        kept = keyring.get_password(KEYRING_SERVICE, whose)
    except ImportError:
        raise Undelivered(
            'has no password: give password_env, or install the keyring with pip install "lightplan[keyring]"'
        ) from None
    except Exception as error:  # each of its back ends has errors of its own
        raise Undelivered(f"the keyring does not open ({type(error).__name__}: {error})") from error
    if not kept:
        raise Undelivered(
            f"the keyring holds no password; put it there with: keyring set {KEYRING_SERVICE} {whose}"
        )
    return str(kept)


def _reply(code: int, text: bytes | str) -> str:
    said = text.decode(errors="replace") if isinstance(text, bytes) else text
    return f"{code} {' '.join(said.split())}"[:LONGEST_QUOTE]


def _too_slow(mail: Mail) -> str:
    hint = '; if it wants TLS at once (port 465), give security = "tls"'
    return f"took too long{hint if mail.security == 'starttls' else ''}"


def _words_for(error: Exception, mail: Mail) -> str:
    """What went wrong, and what would do where that is known."""
    if isinstance(error, UnicodeEncodeError):  # its text holds what could not be sent
        return "takes letters of plain ASCII only in user and password; give it others"
    if isinstance(error, smtplib.SMTPAuthenticationError):
        return f"refuses user or password ({_reply(error.smtp_code, error.smtp_error)})"
    if isinstance(error, smtplib.SMTPRecipientsRefused):
        first = next(iter(error.recipients.items()))
        return f"refuses {first[0]} ({_reply(*first[1])})"
    if isinstance(error, smtplib.SMTPNotSupportedError):
        for lacking in ("STARTTLS", "SMTPUTF8"):
            if lacking in str(error):
                return f"offers no {lacking}; nothing was sent"
        return "offers no log-in that lightplan knows; nothing was sent"
    if isinstance(error, smtplib.SMTPResponseException):
        return f"refuses the mail ({_reply(error.smtp_code, error.smtp_error)})"
    if isinstance(error, ssl.SSLCertVerificationError):
        return f"shows a certificate that can't be trusted ({error.verify_message}); nothing was sent"
    if isinstance(error, ssl.SSLError):
        other = "starttls" if mail.security == "tls" else "tls"
        return f'makes no secure connection on port {mail.port}; perhaps it wants security = "{other}"'
    # smtplib takes a time-out for a broken line
    if isinstance(error, TimeoutError) or isinstance(error.__context__, TimeoutError):
        return _too_slow(mail)
    if isinstance(error, smtplib.SMTPServerDisconnected):
        return "hangs up in the middle"
    if isinstance(error, ConnectionRefusedError):
        return f"refuses the connection on port {mail.port}"
    reason = getattr(error, "strerror", None) or error
    return f"is not reached ({reason})"
