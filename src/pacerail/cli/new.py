"""`pacerail new`: an edit sheet to start from."""

from __future__ import annotations

from pathlib import Path

import click

from pacerail.cli.options import FILE, overwrite_option


@click.command()
@click.argument("captures", type=FILE, nargs=-1, required=True, metavar="CAPTURE...")
@click.option(
    "-o", "--output", type=FILE, metavar="SHEET.toml", required=True, help="The edit sheet."
)
@overwrite_option
def new(captures: tuple[Path, ...], output: Path, overwrite: bool) -> None:
    """Write a commented edit sheet for one CAPTURE, or for two."""
    from pacerail.pipeline.starting import write_starter

    write_starter(captures, output, overwrite=overwrite)
