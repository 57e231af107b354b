"""Entry of the command line: one line to stderr and a non-zero status for anything that can't be answered.

The commands themselves live in `_commands`; this file needs nothing but Python, so that it can say what is missing.
"""

from __future__ import annotations

import sys
from typing import NoReturn

BAD_INPUT = 1
BAD_USAGE = 2


def main() -> None:
    """Runs the command line and leaves with its exit status."""
    try:
        import click
        import rich  # noqa: F401
    except ImportError as missing:
        _refuse(f'the command line needs {missing.name}; install it with: pip install "afterquench[cli]"', BAD_USAGE)
    from ._commands import cli

    try:
        sys.exit(cli.main(prog_name="afterquench", standalone_mode=False) or 0)
    except OSError as error:
        _refuse(f"{error.filename}: {error.strerror}" if error.filename else str(error), BAD_INPUT)
    except click.UsageError as error:
        asked = error.ctx.command_path if error.ctx else "afterquench"
        _refuse(f"{error.format_message()} See: {asked} --help", BAD_USAGE)
    except click.ClickException as error:
        _refuse(error.format_message(), BAD_INPUT)
    except click.Abort:
        _refuse("stopped", BAD_INPUT)


def _refuse(why: str, status: int) -> NoReturn:
    print("afterquench: " + " ".join(why.split()), file=sys.stderr)
    sys.exit(status)
