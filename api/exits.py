"""Exit statuses of the commands that look at models, and the one way to refuse an order."""

from typing import Final

import click

PASSED: Final = 0
FAILED: Final = 1
"""Something fails the gate, or differs."""
WRONG_USAGE: Final = 2
NOT_ANALYSED: Final = 3
INTERRUPTED: Final = 130
"""128 + SIGINT, as shells have it."""


def refuse(message: str) -> int:
    """Say what is wrong with an order and return the exit status of one."""
    click.echo(message, err=True)
    return WRONG_USAGE
