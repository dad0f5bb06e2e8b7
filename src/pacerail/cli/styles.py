"""`pacerail styles`: the shipped looks."""

from __future__ import annotations

import click


@click.command()
def styles() -> None:
    """List the shipped styles."""
    from pacerail.pipeline.drawing import shipped_styles

    summaries = shipped_styles()
    width = max(len(name) for name in summaries)
    for name, summary in summaries.items():
        click.echo(f"{name:<{width}}  {summary}")
