"""The tables `[deliver]` and `[deliver.mail]`."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BeforeValidator, Field

from lightplan.site.table import Table
from lightplan.site.values import ANY_SPELLING, Text, refuse


def mail_address(value: object) -> object:
    """Something before and after one @, and nothing that could begin another header or address."""
    if isinstance(value, str):
        name, at, host = value.rpartition("@")
        strange = any(c.isspace() or not c.isprintable() or c in '<>,;:()[]\\"' for c in value)
        if not (name and at and host) or strange or "@" in name:
            raise refuse("write a plain mail address, like crew@example.org")
    return value


Address = Annotated[str, BeforeValidator(mail_address)]


class MailTable(Table):
    """`[deliver.mail]`: the sheet by mail."""

    to: Annotated[tuple[Address, ...], Field(strict=False, min_length=1)] = Field(
        description="the addresses it goes to, in [ ]"
    )
    from_: Address = Field(alias="from", description="the address it comes from")
    host: Text = Field(description="the name of your mail server")
    port: int | None = Field(None, ge=1, le=65535, description="its port")
    security: Annotated[Literal["starttls", "tls", "none"], ANY_SPELLING] = Field(
        "starttls", description="how the way to it is kept secret (none on this machine only)"
    )
    user: Text | None = Field(None, description="the name to log in with")
    password_env: Text | None = Field(
        None, description="the environment variable that holds the password (else the keyring is asked)"
    )
    ca_file: Text | None = Field(
        None, description="the PEM file of a certificate to trust, for a server that made its own"
    )


class DeliverTable(Table):
    """`[deliver]`: where the sheet goes when it is made by itself."""

    print: bool | None = Field(None, description="whether it is printed")
    printer: Text | None = Field(None, description="the printer's name (else the one usually used)")
    copies: int = Field(1, ge=1, le=20, description="the number of printed copies")
    folder: Text | None = Field(None, description="a folder that it is copied to")
    keep: int | None = Field(None, ge=7, le=100000, description="the days whose sheets are kept (else all)")
    mail: MailTable | None = Field(None, description="the mail it is sent by")
