"""Commands about a lesson file: start it, check it, list its measures, describe its form."""

import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import click

from reporter.commands.options import ANY_PATH, JSON_VERSION, today, with_loudness
from reporter.commands.screen import Screen, product, product_json, table
from reporter.errors import CannotWriteError, ExitCode, InputRefusedError


@click.command()
@click.argument("folder", type=ANY_PATH)
@click.option(
    "--after", "last", type=ANY_PATH, metavar="LAST",
    help="Carry student, consent, units, clubs and thoughts over from this lesson file.",
)  # fmt: skip
@with_loudness
def new(screen: Screen, folder: Path, last: Path | None) -> None:
    """Write a commented session.yaml into FOLDER, from the pictures that lie in it."""
    import secrets

    from reporter.publish import publish
    from reporter.safe_open import is_folder
    from reporter.session.load import LESSON_FILE, load_session, load_text
    from reporter.session.scaffold import new_lesson

    target = folder / LESSON_FILE
    if os.path.lexists(target):
        message = f"{target} exists already; it is not overwritten"
        raise CannotWriteError(message)
    if not is_folder(folder):
        message = f"the folder {folder} is missing; make it and put the pictures into it"
        raise CannotWriteError(message)
    pictures = tuple(_pictures_in(folder))
    text = new_lesson(
        pictures,
        lesson_id=secrets.token_hex(8),
        student_id=secrets.token_hex(8),
        date=today(),
        last=load_session(last) if last else None,
    ).encode("utf-8")
    load_text(text, target)  # a picture that cannot be used is told now, and nothing is written
    publish(target, text)
    screen.say(f"{target}: {len(pictures)} pictures; fill it in, then: lesson-reporter check")


def _pictures_in(folder: Path) -> Iterator[str]:
    """Yield the pictures of a folder and of its frames/, as a lesson names them."""
    from reporter.session.scaffold import PICTURE_ENDINGS

    for place in (folder, folder / "frames"):
        for file in sorted(place.iterdir()) if place.is_dir() else ():
            if file.suffix.lower() in PICTURE_ENDINGS and not file.name.startswith("."):
                yield file.relative_to(folder).as_posix()


@click.command()
@click.argument("file", type=ANY_PATH)
@click.option("--json", "as_json", is_flag=True, help="One JSON object on the output stream.")
@click.option("--explain", is_flag=True, help="Name the origin of every value.")
@click.option("--strict", is_flag=True, help="End with 1 if there is advice or a warning.")
@with_loudness
def check(
    screen: Screen, file: Path, as_json: bool, explain: bool, strict: bool
) -> ExitCode | None:
    """Check a lesson FILE: problems must be mended, advice may be."""
    from reporter.handout.check import check_lesson

    answer: dict[str, Any] = {"version": JSON_VERSION, "file": str(file)}
    try:
        checked = check_lesson(file, today=today(), reading_ease=screen.verbose)
    except InputRefusedError as error:
        if not as_json:
            raise
        problems = [_problem_as_json(problem) for problem in error.problems]
        lists = ("warnings", "advice", "silenced", "plan_notes")
        product_json({**answer, "problems": problems, **{name: [] for name in lists}})
        return ExitCode.INPUT_REFUSED
    loaded, found = checked.loaded, checked.advice
    origins: tuple[Any, ...] = ()
    if explain:
        from reporter.session.explain import origins as origins_of

        origins = origins_of(loaded)
    if as_json:
        answer |= _checked_as_json(checked)
        if explain:
            answer["origins"] = [
                {"field": o.field, "value": o.value, "file": o.file or None, "line": o.line or None}
                for o in origins
            ]
        product_json(answer)
    else:
        for origin in origins:
            product(str(origin))
        for line in (*loaded.warnings, *found.lines(loaded)):
            screen.say(line)
        for line in (*found.silenced_lines(), *checked.ease_lines()):
            screen.detail(line)
        count = len(found.advice)
        advised = f", {count} piece{'s' if count != 1 else ''} of advice" if count else ""
        screen.say(f"{file}: no problems{advised}")
    return ExitCode.WARNINGS if strict and (found.advice or loaded.warnings) else None


def _checked_as_json(checked: Any) -> dict[str, Any]:  # noqa: ANN401 - a Checked
    """Return what a check found, but for problems, which end it."""
    loaded, found = checked.loaded, checked.advice
    answer: dict[str, Any] = {
        "problems": [],
        "warnings": list(loaded.warnings),
        "advice": [_advice_as_json(loaded, one) for one in found.advice],
        "silenced": [
            {**_advice_as_json(loaded, one), "silenced_because": reason}
            for one, reason in found.silenced
        ],
        "plan_notes": [{"id": one.id, "message": one.message} for one in found.plan_notes],
    }
    if checked.ease:
        answer["reading_ease"] = [
            {"sheet": one.sheet, "ease": one.ease, "reason": one.reason or None}
            for one in checked.ease
        ]
    return answer


def _problem_as_json(problem: Any) -> dict[str, Any]:  # noqa: ANN401 - a Problem
    return {name: getattr(problem, name) for name in ("file", "line", "column", "field", "message")}


def _advice_as_json(loaded: Any, advice: Any) -> dict[str, Any]:  # noqa: ANN401 - see build.py
    file, line, column = loaded.place_of(advice.field)
    return {
        "id": advice.id,
        "file": file,
        "line": line,
        "column": column,
        "field": advice.field,
        "kind": advice.kind,
        "message": advice.message,
        "offer": advice.offer or None,
        "reason": advice.reason,
    }


@click.command()
@click.argument("file", type=ANY_PATH)
@click.option("--json", "as_json", is_flag=True, help="One JSON object on the output stream.")
@with_loudness
def measure(screen: Screen, file: Path, as_json: bool) -> None:
    """List every measure of a lesson FILE with its plus-or-minus and class."""
    from reporter.handout.measure_list import measure_lesson

    measures = measure_lesson(file)
    if as_json:
        product_json({"version": JSON_VERSION, "file": str(file), "measures": measures})
        return
    if not measures:
        screen.say(f"{file}: no measures; mark points on the frames first")
        return
    rows = [
        (
            str(one["frame"]),
            str(one["position"]),
            str(one["id"]),
            _rounded(one["value"], one["unit"]),
            "" if one["plus_minus"] is None else f"+/- {one['plus_minus']:.1f}",
            str(one["class"]),
            str(one["reason"] or ""),
        )
        for one in measures
    ]
    headings = ("frame", "position", "measure", "value", "95 %", "class", "why")
    product(table(headings, rows))


def _rounded(value: float | None, unit: str) -> str:
    return "-" if value is None else f"{value:.1f} {unit}"


@click.command()
@with_loudness
def schema(screen: Screen) -> None:
    """Print the JSON Schema of a lesson file, for editors."""
    from reporter.bundled import lesson_schema

    product(lesson_schema().decode("utf-8").rstrip("\n"))
