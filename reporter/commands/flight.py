"""The flight command."""

import click

from reporter.commands.options import JSON_VERSION, with_loudness
from reporter.commands.screen import Screen, product, product_json, table


class _FlightCommand(click.Command):
    """A command whose many options are read when they are asked for, not with every command."""

    _declared: list[click.Parameter]
    _complete = False

    @property
    def params(self) -> list[click.Parameter]:
        """The options, those of a flight after the others."""
        if not self._complete:
            from reporter.flight_command.options import EVERY_OPTION

            self._declared += [
                click.Option([f"--{name}"], metavar="TEXT", help=option.help)
                for name, option in EVERY_OPTION.items()
            ]
            self._complete = True
        return self._declared

    @params.setter
    def params(self, declared: list[click.Parameter]) -> None:
        self._declared = declared


@click.command(cls=_FlightCommand)
@click.option("--json", "as_json", is_flag=True, help="One JSON object on the output stream.")
@with_loudness
def flight(screen: Screen, as_json: bool, **typed: str | None) -> None:
    """Compute a ball flight, or work one back; computed, not measured.

    Type a delivery (--club --head-speed --face --path), a launch (--ball-speed --launch-angle
    --spin), a flight that was --seen or is wanted (--want), or a table of --shots. Right of the
    target is positive for everybody. Give each number with its unit.
    """
    from reporter.flight_command.options import read_flight_options
    from reporter.flight_command.table import flight_lines, flight_rows, pattern_lines

    given = {name.replace("_", "-"): text for name, text in typed.items() if text is not None}
    request = read_flight_options(given)
    if request.kind == "shots":
        from reporter.flight_command.typed_shots import pattern_typed

        result, lines = pattern_typed(request), pattern_lines
    else:
        from reporter.flight_command.typed_flight import fly_typed

        result, lines = fly_typed(request), flight_lines
    if as_json:
        product_json({"version": JSON_VERSION, **result})
        return
    for heading, one in (("now", result), ("wanted", result.get("wanted", {}))):
        rows = list(flight_rows(one))
        if rows:
            product(table((heading, "nominal", "95 % band"), rows))
    for line in lines(result):
        product(line)
