"""The sheet by mail against a real server with STARTTLS (aiosmtpd), and the message by RFC 5322."""

from __future__ import annotations

import sys
import types
from datetime import timedelta

import pytest

from lightplan.deliver.dispatch import deliver
from lightplan.deliver.mail import Mailer, message_of, password
from lightplan.deliver.outbox import Outbox
from lightplan.deliver.parcel import Undelivered
from lightplan.site.models import Mail
from tests.deliver.faults import CREW, VARIABLE, mailer, variable
from tests.deliver.mail_server import PASSWORD, USER, Authority, Handler, mail_server
from tests.deliver.parcels import DAY, ICS, MADE, PDF, parcel


@pytest.mark.parametrize("security", ["starttls", "tls"])
def test_the_sheet_goes_whole_over_an_encrypted_way(tmp_path, security):
    authority, handler = Authority(tmp_path), Handler()
    login = security == "starttls"  # aiosmtpd takes no log-in on a connection that is TLS from the start
    with mail_server(handler, authority, security=security, login=login) as port, variable(PASSWORD):
        how = {"user": USER, "password_env": VARIABLE} if login else {}
        mailer(tmp_path, port, security=security, ca_file="ca.pem", **how).send(parcel(), MADE, late=False)
    [message] = handler.messages
    assert handler.to == [list(CREW)]
    assert message["Subject"] == parcel().subject
    assert message["Date"].datetime == MADE
    assert message["From"] == "sheets@range.example" and message["To"] == ", ".join(CREW)
    body = message.get_body()
    assert body is not None and body.get_content().replace("\r\n", "\n") == parcel().text
    attached = {part.get_filename(): part for part in message.iter_attachments()}
    assert attached["2026-04-21.pdf"].get_content() == PDF
    assert attached["2026-04-21.pdf"].get_content_type() == "application/pdf"
    calendar = attached["2026-04-21.ics"]
    assert calendar.get_content_type() == "text/calendar" and calendar.get_param("charset") == "utf-8"
    assert calendar.get_payload(decode=True) == ICS
    assert len(attached) == 2


def test_nothing_goes_in_the_open(tmp_path):
    """Neither password nor sheet is sent to a server that does not turn to TLS."""
    handler = Handler()
    with mail_server(handler) as port, variable(PASSWORD), pytest.raises(Undelivered, match="no STARTTLS"):
        way = mailer(tmp_path, port, security="starttls", user=USER, password_env=VARIABLE)
        way.send(parcel(), MADE, late=False)
    assert not handler.messages


def test_a_password_that_can_not_be_sent_is_never_repeated(tmp_path):
    authority, handler, secret = Authority(tmp_path), Handler(), "Gänseblümchen"
    with mail_server(handler, authority, security="starttls", login=True) as port, variable(secret):
        way = mailer(tmp_path, port, security="starttls", ca_file="ca.pem", user=USER, password_env=VARIABLE)
        with pytest.raises(Undelivered, match="plain ASCII only") as told:
            way.send(parcel(), MADE, late=False)
    assert "ä" not in str(told.value) and not handler.messages


def test_those_it_did_not_reach_get_it_later_and_the_others_not_twice(tmp_path):
    outbox, said, told = Outbox(tmp_path / "site"), [], []
    first, second = Handler({CREW[1]: "450 Greylisted, try again later"}), Handler()
    with mail_server(first) as port:
        way = mailer(tmp_path, port)
        assert deliver(outbox, [way], parcel(), sent_at=MADE, say=said.append, tell=told.append) == 1
    with mail_server(second) as port:
        way = mailer(tmp_path, port)
        later = MADE + timedelta(days=1)
        assert deliver(outbox, [way], None, sent_at=later, say=said.append, tell=told.append) == 0
    assert first.to == [[CREW[0]]] and second.to == [[CREW[1]]]
    assert second.messages[0]["Subject"] == f"Late: {parcel().subject}"
    assert "comes late" in second.messages[0].get_body().get_content()
    assert first.messages[0]["Message-ID"] == second.messages[0]["Message-ID"]


def test_without_a_pdf_the_page_goes(tmp_path):
    whole = parcel()
    message = message_of(parcel(files=whole.files[1:]), "a@range.example", CREW, MADE, late=False)
    assert [p.get_content_type() for p in message.iter_attachments()] == ["text/html", "text/calendar"]


def test_without_any_file_the_orders_go(tmp_path):
    message = message_of(parcel(files=()), "a@range.example", CREW, MADE, late=False)
    assert message.get_content() == parcel().text


@pytest.mark.parametrize("name", ["Ä\r\nBcc: x@y.example", "a" * 300, "; 50 % & <b>"])
def test_no_name_breaks_out_of_its_header(name):
    message = message_of(
        parcel(subject=" ".join(name.split()), site=name), "a@range.example", CREW, MADE, late=False
    )
    text = message.as_bytes()
    assert b"\nBcc:" not in text
    assert all(len(line) <= 998 for line in text.splitlines())  # RFC 5322, 2.1.1


def test_passwords_from_the_keyring(monkeypatch):
    mail = Mail(CREW, "a@b.example", "smtp.b.example", 587, "starttls", "grower", None, None)
    asked = []
    ring = types.ModuleType("keyring")
    ring.get_password = lambda service, whose: asked.append((service, whose)) or None  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "keyring", ring)
    with pytest.raises(Undelivered, match=r"keyring set lightplan grower@smtp\.b\.example"):
        password(mail)
    assert asked == [("lightplan", "grower@smtp.b.example")]
    ring.get_password = lambda service, whose: "held"  # type: ignore[attr-defined]
    assert password(mail) == "held"

    def locked(service, whose):
        raise RuntimeError("locked")

    ring.get_password = locked  # type: ignore[attr-defined]
    with pytest.raises(Undelivered, match="does not open"):
        password(mail)
    monkeypatch.setitem(sys.modules, "keyring", None)
    with pytest.raises(Undelivered, match=r"lightplan\[keyring\]"):
        password(mail)


def test_a_mail_whose_last_address_left_the_site_file_is_done(tmp_path):
    way = Mailer(Mail((CREW[0],), "a@b.example", "localhost", 1, "none", None, None, None), tmp_path)
    way.send(parcel(left=(CREW[1],)), MADE, late=True)  # port 1: nobody listens, nobody is called


def test_the_message_keeps_its_day(tmp_path):
    message = message_of(parcel(DAY), "a@range.example", CREW, MADE, late=False)
    assert message["Auto-Submitted"] == "auto-generated"  # RFC 3834
    assert "T051500@range.example" in message["Message-ID"]
