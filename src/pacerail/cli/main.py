"""The command `pacerail`: its subcommands, and the one place where errors become words.

Exit status: 0 done, 2 wrong usage, 1 could not do it, 130 after Ctrl-C, 143 after SIGTERM.
"""

from __future__ import annotations

import signal
import sys
from collections.abc import Sequence
from types import FrameType
from typing import NoReturn

import click
from click.exceptions import NoArgsIsHelpError

from pacerail import __version__
from pacerail.cli.align import align
from pacerail.cli.build import build
from pacerail.cli.compare import compare
from pacerail.cli.csv import csv
from pacerail.cli.facts import facts
from pacerail.cli.frame import frame
from pacerail.cli.loads import loads
from pacerail.cli.markers import markers
from pacerail.cli.measure import measure
from pacerail.cli.moments import moments
from pacerail.cli.new import new
from pacerail.cli.output import sparing_inputs
from pacerail.cli.overlay import overlay
from pacerail.cli.pixels import pixels
from pacerail.cli.race import race
from pacerail.cli.steps import steps
from pacerail.cli.still import alternate, push, still
from pacerail.cli.strip import strip
from pacerail.cli.styles import styles
from pacerail.errors import OutputError, PacerailError


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, prog_name="pacerail", message="%(prog)s %(version)s")
def commands() -> None:
    """Measure the frame timing of a screen capture and put it onto the footage.

    Start with measure for one capture, or with new for everything in a video.

    Times are written as seconds (83.5), mm:ss.mmm, hh:mm:ss.mmm or timecode hh:mm:ss:ff,
    counted from the first picture. Regions are fractions of the picture: x,y,width,height.
    """


for command in (
    measure,
    csv,
    facts,
    markers,
    strip,
    frame,
    overlay,
    compare,
    align,
    moments,
    loads,
    race,
    pixels,
    steps,
    still,
    push,
    alternate,
    new,
    build,
    styles,
):
    assert command.callback is not None
    command.callback = sparing_inputs(command.callback)
    commands.add_command(command)


def main(arguments: Sequence[str] | None = None) -> NoReturn:
    """Run one command and leave with its exit status."""
    signal.signal(signal.SIGTERM, _terminate)
    sys.exit(_run(arguments))


def _run(arguments: Sequence[str] | None) -> int:
    """Exit status of a command, with every error it can meet told in one line."""
    try:
        status = commands.main(arguments, prog_name="pacerail", standalone_mode=False)
        sys.stdout.flush()
    except NoArgsIsHelpError as error:
        click.echo(error.format_message(), err=True)
        return error.exit_code
    except (click.MissingParameter, click.NoSuchOption) as error:
        message = " ".join(error.format_message().split())
        if error.ctx and "Did you mean" not in message:
            message = f"{message.removesuffix('.')}; see {error.ctx.command_path} --help"
        return _fail(message, error.exit_code)
    except click.ClickException as error:
        return _fail(error.format_message(), error.exit_code)
    except PacerailError as error:
        return _fail(str(error), error.exit_code)
    except click.Abort:
        return 128 + signal.SIGINT
    except BrokenPipeError:
        # Whoever read the output has seen enough; nothing is left to flush at exit.
        sys.stdout = None
        return 1
    except OSError as error:
        return _fail(str(error), OutputError.exit_code)
    return status if isinstance(status, int) else 0


def _fail(message: str, status: int) -> int:
    click.echo(f"Error: {message}", err=True)
    return status


def _terminate(number: int, _: FrameType | None) -> NoReturn:
    """Leave by an exception, so that unfinished outputs are cleared away."""
    sys.exit(128 + number)
