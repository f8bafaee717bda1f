"""`lightplan check`: what a site file says, with every default."""

from __future__ import annotations

from pathlib import Path

import click

from lightplan.cli import SITE, Exit, commands, example


@commands.command(epilog=example("lightplan check sample_sites/ottermoss"))
@SITE
@click.option("--names", is_flag=True, help="List every name that a site file may use.")
def check(folder: Path, names: bool) -> int:
    """Validate a site file and print what was understood, with every default."""
    from lightplan.site.describe import describe
    from lightplan.site.names_text import names_text
    from lightplan.site.read import load_site

    if names:
        click.echo(names_text())
        return Exit.DONE
    click.echo(describe(load_site(folder)))
    return Exit.DONE
