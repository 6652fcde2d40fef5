"""What the worksheet's page may ask and do, by address; each answer is JSON or one picture."""

import datetime
import json
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from reporter.desk.adding import NewFrame, adding_edits
from reporter.desk.clips import Clips
from reporter.desk.lesson_file import ConflictError, EditRefusedError, LessonFile, edits_from
from reporter.desk.preview import Preview, can_paint
from reporter.desk.snapping import snap_points
from reporter.desk.stills import Stills
from reporter.desk.view import lesson_view
from reporter.desk.words import page_words
from reporter.errors import CannotWriteError, InputRefusedError, Problem, ReporterError
from reporter.session.layers import without_empty
from reporter.session.load import LESSON_FILE
from reporter.session.partial import measurable_part
from reporter.speech import LANGUAGES, speaking
from reporter.yaml_source import read_yaml

JSON = "application/json"


@dataclass(frozen=True, slots=True)
class Answer:
    """What goes back to the page.

    Attributes
    ----------
    status : int
        Of RFC 9110.
    kind : str
        Media type.
    data : bytes
        The body.
    """

    status: int
    kind: str
    data: bytes


def as_json(content: Any, status: int = 200) -> Answer:  # noqa: ANN401 - plain values
    """Return an answer of plain values."""
    data = json.dumps(content, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    return Answer(status, JSON, data.encode("utf-8"))


class LessonDesk:
    """One lesson folder on the desk."""

    def __init__(self, folder: Path, new_text: str, today: Callable[[], datetime.date]) -> None:
        self.folder = folder
        self.file = LessonFile(folder / LESSON_FILE, new_text)
        self._today = today
        self._stills = Stills(folder)
        self._clips = Clips(folder)
        self._preview = Preview(self.file.path)

    def close(self) -> None:
        """Let go of the clips."""
        self._clips.close()

    def get(self, path: str, asked: Mapping[str, str]) -> Answer:
        """Answer a question."""
        parts = path.strip("/").split("/")
        with _said_in(asked), _as_answer() as held:
            held.append(self._got(parts, asked))
        return held[-1]

    def post(self, path: str, content: Mapping[str, Any], asked: Mapping[str, str]) -> Answer:
        """Do what the page asks for."""
        actions: dict[str, Callable[[Mapping[str, Any]], Answer]] = {
            "/edit": self._edit,
            "/use": self._use,
            "/pull": self._pull,
            "/snap": self._snap,
            "/preview": self._make_preview,
            "/build": self._build,
        }
        action = actions.get(path)
        if action is None:
            return as_json({"refused": "no such address"}, 404)
        with _said_in(asked), _as_answer() as held:
            try:
                held.append(action(content))
            except ConflictError as error:
                view = {"conflict": list(error.numbers), "lesson": self._view()}
                held.append(as_json(view, 409))
        return held[-1]

    def _got(self, parts: list[str], asked: Mapping[str, str]) -> Answer:
        match parts:
            case ["lesson"]:
                return as_json(self._view())
            case ["alive"]:
                return as_json({"revision": self._revision()})
            case ["words"]:
                return as_json(page_words())
            case ["drills"]:
                return as_json(self._drills())
            case ["stills", key]:
                return _picture(self._stills.jpeg(key, small="small" in asked))
            case ["clips", number]:
                return as_json(self._clips.described(_whole(number)))
            case ["clips", number, "proposals"]:
                return as_json(self._clips.proposed(_whole(number)))
            case ["clips", number, index]:
                shown = self._clips.jpeg(_whole(number), _whole(index), small="small" in asked)
                return _picture(shown)
            case ["pages", "all.pdf"]:
                document = self._preview.document
                return Answer(200, "application/pdf", document) if document else _missing()
            case ["pages", number]:
                data = self._preview.page_png(_whole(number))
                return Answer(200, "image/png", data) if data else _missing()
        return _missing()

    def _view(self) -> dict[str, Any]:
        return lesson_view(self.file, self._stills, self._clips.listed(), self._today())

    def _revision(self) -> str:
        try:
            return self.file.read()[1]
        except InputRefusedError:
            return ""

    def _edit(self, content: Mapping[str, Any]) -> Answer:
        self.file.change(edits_from(content.get("edits")), str(content.get("revision", "")))
        return as_json(self._view())

    def _values(self) -> tuple[dict[str, Any], str]:
        data, revision = self.file.read()
        values = without_empty(read_yaml(data, self.file.path.name).value)
        return (values if isinstance(values, dict) else {}), revision

    def _use(self, content: Mapping[str, Any]) -> Answer:
        """Take a picture of the folder into the lesson."""
        file = str(content.get("file", ""))
        when, view, position = (str(content.get(n, "")) for n in ("when", "view", "position"))
        new = NewFrame(when, view, position, file)
        if not self._stills.key_of(file):
            message = "there is no such picture"
            raise EditRefusedError(message)
        values, revision = self._values()
        self.file.change(adding_edits(values, new), revision)
        return as_json(self._view())

    def _pull(self, content: Mapping[str, Any]) -> Answer:
        """Write a picture of a clip into the folder and take it into the lesson."""
        when, view, position = (str(content.get(n, "")) for n in ("when", "view", "position"))
        NewFrame(when, view, position, "")  # the words are judged before anything is written
        clip, index = content.get("clip"), content.get("index")
        if not isinstance(clip, int) or not isinstance(index, int):
            message = "a clip and a picture are needed"
            raise EditRefusedError(message)
        name = f"{when}-{view}-{position}"
        file, *origin = self._clips.pull(clip, index, name)
        values, revision = self._values()
        new = NewFrame(when, view, position, file, *origin)
        self.file.change(adding_edits(values, new), revision)
        return as_json(self._view())

    def _snap(self, content: Mapping[str, Any]) -> Answer:
        name, kind = str(content.get("frame", "")), str(content.get("kind", ""))
        session = measurable_part(self._values()[0])
        frame = next((one for one in session.frames if one.id == name), None)
        if frame is None or kind not in ("ball", "shaft"):
            message = "there is nothing to look at"
            raise EditRefusedError(message)
        return as_json({"snapped": snap_points(self.folder, frame, kind)})

    def _make_preview(self, content: Mapping[str, Any]) -> Answer:
        made = self._preview.make(self._today())
        return as_json({"pages": made.pages, "pictures": can_paint()})

    def _build(self, content: Mapping[str, Any]) -> Answer:
        from reporter.handout.build import build_handout

        built = build_handout(
            self.file.path, output=None, brand=None, layout="handout", paper="a4",
            today=self._today(),
        )  # fmt: skip
        return as_json(
            {
                "file": built.path.name,
                "folder": str(built.path.resolve().parent.name),
                "pages": built.pages,
                "warnings": list(built.warnings),
            }
        )

    def _drills(self) -> list[dict[str, Any]]:
        from reporter.handout.find_drills import find_drills
        from reporter.story.spoken_drills import spoken

        return [
            {
                "id": drill.id,
                "name": drill.name,
                "aim": drill.aim,
                "faults": list(drill.faults),
                "acts_on": list(drill.acts_on),
                "space": drill.space,
            }
            for drill in map(spoken, find_drills(self.folder))
        ]


@contextmanager
def _said_in(asked: Mapping[str, str]) -> Iterator[None]:
    """Speak the language the page asks for, as far as there are words in it."""
    wanted = asked.get("in", "en")
    with speaking(wanted if wanted in LANGUAGES else "en"):
        yield


@contextmanager
def _as_answer() -> Iterator[list[Answer]]:
    """Turn a mistake that can be mended into an answer; the list's last answer counts."""
    held: list[Answer] = []
    try:
        yield held
    except EditRefusedError as error:
        held.append(as_json({"refused": str(error)}, 400))
    except InputRefusedError as error:
        problems = [_problem(one) for one in error.problems]
        held.append(as_json({"refused": problems[0]["message"], "problems": problems}, 422))
    except CannotWriteError as error:
        held.append(as_json({"refused": str(error), "not_saved": True}, 507))
    except ReporterError as error:
        held.append(as_json({"refused": str(error)}, 422))


def _problem(one: Problem) -> dict[str, Any]:
    return {"field": one.field, "message": one.message, "line": one.line, "file": one.file}


def _picture(data: bytes | None) -> Answer:
    return Answer(200, "image/jpeg", data) if data is not None else _missing()


def _missing() -> Answer:
    return as_json({"refused": "no such address"}, 404)


def _whole(text: str) -> int:
    return int(text) if text.isascii() and text.isdigit() and len(text) < 9 else -1
