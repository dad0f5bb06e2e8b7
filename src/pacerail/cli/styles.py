"""`pacerail styles`: the looks there are, as a list and as a specimen sheet."""

from __future__ import annotations

from pathlib import Path

import click

from pacerail.cli.options import FILE, overwrite_option


@click.command()
@click.argument("names", metavar="[STYLE]...", nargs=-1)
@click.option(
    "-o",
    "--output",
    type=FILE,
    metavar="SHEET",
    help="Draw a specimen of each as well, on a .png, .svg or .pdf file.",
)
@overwrite_option
def styles(names: tuple[str, ...], output: Path | None, overwrite: bool) -> None:
    """List the shipped styles, or each STYLE by name or file."""
    from pacerail.pipeline.drawing import named_styles, write_specimen

    chosen = named_styles(names)
    width = max(len(name) for name in chosen)
    for name, style in chosen.items():
        click.echo(f"{name:<{width}}  {style.summary}")
    if output is not None:
        write_specimen(chosen, output, overwrite=overwrite)
