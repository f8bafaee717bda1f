"""Rules of `[deliver.mail]`."""

from __future__ import annotations

import ipaddress
import re
from collections.abc import Iterator

from lightplan.site.problems import Problem
from lightplan.site.rows import Row, wrong
from lightplan.site.rule import Around, rule
from lightplan.site.schema_deliver import MailTable


def on_this_machine(host: str) -> bool:
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host.lower() == "localhost"


@rule(MailTable, "host", "security")
def secret_on_the_way(row: Row, around: Around) -> Iterator[Problem]:
    if row["security"] == "none" and not on_this_machine(row["host"]):
        what = '; a mail would go openly over the net: give "starttls" or "tls"'
        yield wrong(row, "security", what, "unsafe")


@rule(MailTable, "user", "security")
def password_is_kept_secret(row: Row, around: Around) -> Iterator[Problem]:
    if row["security"] == "none" and row["user"]:
        yield wrong(row, "user", '; without "starttls" or "tls" no password is sent; take it out', "unsafe")


@rule(MailTable, "host")
def host_is_a_name(row: Row, around: Around) -> Iterator[Problem]:
    if not re.fullmatch(r"[\w.:-]+", row["host"]) or "//" in row["host"]:
        yield wrong(row, "host", '; give the server\'s name alone, like "smtp.example.org"', "wrong-value")
    elif named := re.fullmatch(r"([^:]+):(\d+)", row["host"]):
        what = f'; give name and port apart: host = "{named[1]}" and port = {named[2]}'
        yield wrong(row, "host", what, "wrong-value")


@rule(MailTable, "password_env", "user")
def names_a_variable(row: Row, around: Around) -> Iterator[Problem]:
    if row["password_env"] and not re.fullmatch(r"[A-Za-z_]\w*", row["password_env"]):
        # what stands there may be the password itself: it is not repeated
        needs = (
            "password_env does not look like a variable's name; put the password into an environment variable"
        )
        yield row.problem("password_env", f"{needs} and its name here", "wrong-value")
    elif row["password_env"] and not row["user"]:
        yield row.problem("user", "user is missing; a password needs the name to log in with", "missing-key")


RULES = (secret_on_the_way, password_is_kept_secret, host_is_a_name, names_a_variable)
