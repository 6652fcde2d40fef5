"""The drills command."""

from pathlib import Path
from typing import Any

import click

from reporter.commands.options import ANY_PATH, JSON_VERSION, with_loudness
from reporter.commands.screen import Screen, product, product_json, table


@click.command()
@click.argument("words", nargs=-1)
@click.option("--fault", metavar="FAULT", help="What went wrong, such as slice.")
@click.option("--acts-on", metavar="THING", help="What it acts on, such as low-point.")
@click.option("--space", metavar="PLACE", help="Where there is room: home, range or green.")
@click.option(
    "--equipment", multiple=True, metavar="THINGS",
    help="What is at hand, commas between; none for nothing.",
)  # fmt: skip
@click.option("--avoid", multiple=True, metavar="THINGS", help="What to leave out, such as back.")
@click.option("--balls/--no-balls", default=None, help="With balls, or without.")
@click.option(
    "--drills", "file", type=ANY_PATH, metavar="FILE",
    help="An academy's own drills; else drills.yaml here or up to three folders above.",
)  # fmt: skip
@click.option("--json", "as_json", is_flag=True, help="One JSON object on the output stream.")
@with_loudness
def drills(
    screen: Screen, words: tuple[str, ...], file: Path | None, as_json: bool, **filters: Any
) -> None:
    """List the drills that hold all WORDS and pass the filters; one id shows that drill whole."""
    from reporter.handout.drill_list import (
        ROW_HEADINGS,
        drill_as_json,
        drill_lines,
        drill_row,
        drills_asked,
    )

    found, is_one = drills_asked(words, file=file, folder=Path.cwd(), **filters)
    if as_json:
        listed = [drill_as_json(drill) for drill in found]
        product_json({"version": JSON_VERSION, "drills": listed})
    elif not found:
        screen.say("no drill passes all of these filters")
    elif is_one:
        width = max(len(label) for label, _ in drill_lines(found[0]))
        for label, text in drill_lines(found[0]):
            product(f"{label.ljust(width)}  {text}")
    else:
        product(table(ROW_HEADINGS, [drill_row(drill) for drill in found]))
