"""The command that asks an installed pose model for a first guess of the points."""

from pathlib import Path

import click

from reporter.commands.options import ANY_PATH, JSON_VERSION, with_loudness
from reporter.commands.screen import Screen, product_json


@click.command()
@click.argument("file", type=ANY_PATH)
@click.option(
    "--frame", "chosen", multiple=True, metavar="ID",
    help="Only this frame; may be repeated. All but those of the feet if left out.",
)  # fmt: skip
@click.option("--json", "as_json", is_flag=True, help="One JSON object on the output stream.")
@with_loudness
def propose(screen: Screen, file: Path, chosen: tuple[str, ...], as_json: bool) -> None:
    """Add a pose model's first guess of missing points to a lesson FILE, all unconfirmed."""
    from reporter.handout.proposed import propose_into_lesson
    from reporter.measure.pose_model import installed_pose_model

    model = installed_pose_model()
    with screen.working("looking at the pictures"):
        done = propose_into_lesson(file, model, chosen)
    if as_json:
        frames = [{"frame": one.frame, "points": list(one.points)} for one in done]
        product_json({"version": JSON_VERSION, "file": str(file), "frames": frames})
    for one in done:
        if one.points:
            screen.say(f"{one.frame}: {len(one.points)} points proposed, none confirmed")
        else:
            screen.say(f"{one.frame}: nothing proposed")
    screen.say("no measure uses a proposed point until you have looked at it and confirmed it")
