"""Options that several commands share."""

import os

import click


def _cores() -> int:
    return len(os.sched_getaffinity(0))


MATERIAL = click.option("--material", metavar="NAME", help="One of the shop's materials.  [default: the shop's own]")
QUANTITY = click.option("--quantity", default=1, show_default=True, type=click.IntRange(min=1), help="Pieces ordered.")
REPAIR = click.option(
    "--repair",
    is_flag=True,
    help="Repair a model that is not sound (gaps, turned faces, slivers) before it is measured; the report says so.",
)
JOBS = click.option(
    "--jobs",
    default=_cores,
    show_default="number of cores",
    type=click.IntRange(min=1),
    help="Models analysed at the same time.",
)
TIMEOUT = click.option(
    "--timeout",
    default=120.0,
    show_default=True,
    metavar="SECONDS",
    type=click.FloatRange(min=0, min_open=True),
    help="Time limit for each model.",
)
MEMORY = click.option(
    "--memory",
    default=2048,
    show_default=True,
    metavar="MIB",
    type=click.IntRange(min=1),
    help="Memory limit for each model.",
)
PER_CHILD = click.option(
    "--files-per-child",
    default=16,
    show_default=True,
    metavar="N",
    type=click.IntRange(min=1),
    help="Sound models that one process analyses before a new one is taken; 1 = each in a process of its own.",
)
