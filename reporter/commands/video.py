"""The command that looks into a clip: contact sheet, proposals, pulled frames."""

import re
from pathlib import Path
from typing import Any

import click

from reporter.commands.options import ANY_PATH, JSON_VERSION, with_loudness
from reporter.commands.screen import Screen, product_json
from reporter.errors import CannotWriteError, ExitCode
from reporter.units import parse_number

_ACCEPTED = re.compile(r"(?P<moment>[a-z]+)(?P<moved>[+-][0-9]{1,4})?")


@click.command()
@click.argument("video", type=ANY_PATH)
@click.option(
    "--at", "times", multiple=True, metavar="SECONDS",
    help="Pull the picture at this time; POSITION=SECONDS says what it shows. May be repeated.",
)  # fmt: skip
@click.option("--propose", is_flag=True, help="Propose setup, top, impact and finish.")
@click.option(
    "--accept", "accepted", multiple=True, metavar="MOMENT",
    help="Pull a proposed picture: top, top+2 (two pictures later), impact-1, or all.",
)  # fmt: skip
@click.option("--lesson", type=ANY_PATH, metavar="FILE", help="Add what is pulled to this lesson.")
@click.option("--take", default="", metavar="ID", help="The lesson's take the clip is of.")
@click.option("--when", type=click.Choice(["before", "after"]), help="For a take that is new.")
@click.option(
    "--view",
    type=click.Choice(["face-on", "down-the-line", "feet"]),
    help="For a take that is new.",
)
@click.option("-o", "--output", type=ANY_PATH, metavar="FOLDER", help="Where to write.")
@click.option(
    "--stills", default=24, show_default=True, type=click.IntRange(1, 60), metavar="N",
    help="How many stills the contact sheet shows.",
)  # fmt: skip
@click.option("--json", "as_json", is_flag=True, help="One JSON object on the output stream.")
@click.option("--force", is_flag=True, help="Replace files of the same names.")
@with_loudness
def frames(
    screen: Screen,
    video: Path,
    times: tuple[str, ...],
    propose: bool,
    accepted: tuple[str, ...],
    lesson: Path | None,
    take: str,
    when: str | None,
    view: str | None,
    output: Path | None,
    stills: int,
    as_json: bool,
    force: bool,
) -> ExitCode | None:
    """Lay a VIDEO out on a contact sheet, propose moments of the swing, pull frames."""
    from reporter.handout.pulled_frames import Place, pull_into_folder, pull_into_lesson
    from reporter.video import open_video
    from reporter.video.propose import propose as look_for_swing

    if lesson is not None and output is not None:
        message = "-o does not go with --lesson: the frames lie beside the lesson file"
        raise click.UsageError(message)
    if bool(when) != bool(view):
        message = "--when and --view go together"
        raise click.UsageError(message)
    asked = [_time_of(text) for text in times]
    wishes = [_wish_of(text) for text in accepted]
    if lesson is not None and any(not position for position, _ in asked):
        message = "a lesson's frame needs its position: --at top=1.25"
        raise click.UsageError(message)
    with screen.working("reading the clip"), open_video(video) as clip:
        proposals = look_for_swing(clip) if propose or wishes else None
        picks = _picks(clip, asked, wishes, proposals)
        pulled = []
        if picks and lesson is not None:
            place = Place(take, when or "", view or "")
            pulled = pull_into_lesson(clip, picks, lesson, place, force=force)
        elif picks:
            folder = output or video.parent / "frames"
            pulled = pull_into_folder(clip, picks, folder, force=force)
        sheet = None
        if not picks:
            sheet = _sheet(clip, proposals, stills, output or video.parent, force=force)
        facts = clip.facts
    for note in facts.notes:
        screen.say(f"{facts.name}: {note}")
    if as_json:
        product_json(_as_json(facts, proposals, sheet, pulled))
    for line in _lines(facts, proposals, sheet, pulled):
        screen.say(line)
    return None


def _time_of(text: str) -> tuple[str, float]:
    """Read ``1.25`` or ``top=1.25``."""
    position, equals, number = text.rpartition("=")
    try:
        seconds = parse_number(number)
    except ValueError as error:
        message = f"--at {text}: {error}"
        raise click.UsageError(message) from None
    if seconds < 0 or (equals and not position):
        message = f"--at {text}: write SECONDS or POSITION=SECONDS, such as top=1.25"
        raise click.UsageError(message)
    from reporter.handout.pulled_frames import POSITIONS

    if position and position not in POSITIONS:
        message = f'--at {text}: "{position}" is not one of {", ".join(POSITIONS)}'
        raise click.UsageError(message)
    return position, seconds


def _wish_of(text: str) -> tuple[str, int]:
    """Read ``top``, ``top+2`` or ``all``."""
    from reporter.video.propose import MOMENTS

    parts = _ACCEPTED.fullmatch(text)
    known = (*MOMENTS, "all")
    if not parts or parts["moment"] not in known or (parts["moment"] == "all" and parts["moved"]):
        message = f"--accept {text}: write one of {', '.join(known)}, moved as in top+2"
        raise click.UsageError(message)
    return parts["moment"], int(parts["moved"] or 0)


def _picks(clip: Any, asked: Any, wishes: Any, proposals: Any) -> list[Any]:  # noqa: ANN401
    """Return what to pull; a wish for something that was not found is refused."""
    from reporter.errors import InputRefusedError, Problem
    from reporter.handout.pulled_frames import Pick
    from reporter.video.propose import moved

    problems = []
    picks = []
    for position, seconds in asked:
        if seconds > clip.facts.duration_seconds:
            message = f"the clip ends at {clip.facts.duration_seconds:.3f} s, before {seconds:g} s"
            problems.append(Problem(clip.facts.name, 0, 0, "at", message))
        picks.append(Pick(clip.facts.index_at(seconds), position))
    for moment, by in wishes:
        chosen = proposals.found if moment == "all" else [proposals.of(moment)]
        for one in chosen or [None]:
            if one is None:
                message = "; ".join(proposals.notes) or f"nothing was found for {moment}"
                problems.append(Problem(clip.facts.name, 0, 0, "accept", message))
            else:
                picks.append(Pick(moved(one, clip, by).index, one.moment))
    if problems:
        raise InputRefusedError(problems)
    return picks


def _sheet(  # noqa: ANN401
    clip: Any, proposals: Any, stills: int, folder: Path, *, force: bool
) -> tuple[Path, Any]:
    """Write the contact sheet."""
    from reporter.handout.pulled_frames import file_stem
    from reporter.publish import holds, publish
    from reporter.video.contact_sheet import contact_sheet

    found = proposals.found if proposals else ()
    labels = {one.index: f"{one.moment} {one.confidence:.2f}" for one in found}
    sheet = contact_sheet(clip, stills, labels)
    path = folder / f"{file_stem(clip.facts.name)}-sheet.jpg"
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        message = f"cannot make the folder {folder}: {error.strerror}"
        raise CannotWriteError(message) from None
    publish(path, sheet.jpeg, is_ours=holds(sheet.jpeg), force=force)
    return path, sheet


def _lines(facts: Any, proposals: Any, sheet: Any, pulled: Any) -> list[str]:  # noqa: ANN401
    """Return what is said of a clip."""
    rate = f"{facts.shown_rate:.4g} pictures a second"
    if facts.variable_rate:
        rate += " (variable)"
    if facts.slowed > 1:
        rate += f", recorded at {facts.recorded_rate:g} and shown {facts.slowed:.3g} times slower"
    turned = f", turned by {facts.turn_degrees} degrees" if facts.turn_degrees else ""
    lines = [
        f"{facts.name}: {facts.codec}, {facts.width} x {facts.height} pixels{turned},"
        f" {facts.frame_count} pictures in {facts.duration_seconds:.3f} s, {rate}"
    ]
    if facts.high_range:
        lines.append(f"{facts.name}: more than 8 bit a colour; the frames may look flat")
    if proposals is not None:
        lines += [
            f"proposed {one.moment}: {one.seconds:.3f} s (picture {one.index}), confidence"
            f" {one.confidence:.2f}: {one.why}"
            for one in proposals.found
        ]
        lines += list(proposals.notes)
    if sheet is not None:
        lines.append(f"{sheet[0]}: {len(sheet[1].shown)} stills")
    for one in pulled:
        told = f" ({one.position})" if one.position else ""
        lines.append(f"{one.path}: {one.seconds:.3f} s{told}")
    return lines


def _as_json(facts: Any, proposals: Any, sheet: Any, pulled: Any) -> dict[str, Any]:  # noqa: ANN401
    """Return the same as one object."""
    return {
        "version": JSON_VERSION,
        "video": {
            "name": facts.name,
            "sha256": facts.sha256,
            "container": facts.container,
            "codec": facts.codec,
            "width": facts.width,
            "height": facts.height,
            "turned_degrees": facts.turn_degrees,
            "frames": facts.frame_count,
            "seconds": round(facts.duration_seconds, 6),
            "shown_rate": round(facts.shown_rate, 6),
            "variable_rate": facts.variable_rate,
            "recorded_rate": facts.recorded_rate,
            "slowed": round(facts.slowed, 6),
            "notes": list(facts.notes),
        },
        "proposals": [
            {
                "moment": one.moment,
                "frame": one.index,
                "seconds": round(one.seconds, 6),
                "confidence": round(one.confidence, 3),
                "why": one.why,
            }
            for one in (proposals.found if proposals else ())
        ],
        "notes": list(proposals.notes) if proposals else [],
        "sheet": str(sheet[0]) if sheet else None,
        "stills": [
            {"number": number, "frame": index, "seconds": round(seconds, 6)}
            for number, index, seconds in (sheet[1].shown if sheet else ())
        ],
        "pulled": [
            {
                "file": str(one.path),
                "frame": one.index,
                "seconds": round(one.seconds, 6),
                "position": one.position or None,
                "id": one.frame or None,
            }
            for one in pulled
        ],
    }
