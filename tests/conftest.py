"""What several tests share: the demo lessons, built once."""

import datetime
import os
from pathlib import Path

import pytest
from hypothesis import settings

ROOT = Path(__file__).parents[1]
DEMO = ROOT / "demo_session" / "session.yaml"
JUNIOR = ROOT / "demo_session" / "junior" / "session.yaml"
TODAY = datetime.date(2027, 4, 13)
# Other work on the machine must fail no test; what must be fast is timed where that is the point.
settings.register_profile("suite", deadline=None)
settings.load_profile("suite")
REQUIRE_ALL = "LESSON_REPORTER_REQUIRE_ALL"


@pytest.fixture(autouse=True)
def nobody_is_reached():
    """Fail a test that wants to leave this machine, even where its refusal was swallowed."""
    from tests.hardening.network_guard import guarded

    with guarded() as refused:
        yield
    assert refused == []


@pytest.fixture(scope="session")
def need_program():
    """Skip by name where a system program is missing; fail instead where all are required."""
    import shutil

    def need(name: str) -> str:
        found = shutil.which(name)
        if found is None:
            message = f"the program {name} is not installed"
            if os.environ.get(REQUIRE_ALL):
                pytest.fail(message)
            pytest.skip(message)
        return found

    return need


@pytest.fixture(scope="session")
def demo_pdf(tmp_path_factory):
    """Return a function that builds a demo lesson once for each brand and paper."""
    from reporter.handout.build import build_handout

    built: dict[tuple[Path, str, str], Path] = {}

    def build(lesson: Path = DEMO, brand: str = "plain", paper: str = "a4") -> Path:
        key = (lesson, brand, paper)
        if key not in built:
            target = tmp_path_factory.mktemp("handout") / "handout.pdf"
            build_handout(
                lesson,
                output=target,
                brand=brand,
                layout="handout",
                paper=paper,
                today=TODAY,
            )
            built[key] = target
        return built[key]

    return build


@pytest.fixture(scope="session")
def linked_pdf(tmp_path_factory):
    """Return a function that builds the demo with a link to its clips, once for each form."""
    from reporter.handout.build import build_handout
    from reporter.handout.file_form import FileForm
    from tests.draw.archival_samples import linked_lesson

    lesson = linked_lesson(tmp_path_factory.mktemp("linked"))
    built: dict[FileForm, Path] = {}

    def build(**form) -> Path:
        wanted = FileForm(**form)
        if wanted not in built:
            target = tmp_path_factory.mktemp("file") / "out.pdf"
            build_handout(
                lesson, output=target, brand="plain", layout="handout", paper="a4", today=TODAY,
                form=wanted,
            )  # fmt: skip
            built[wanted] = target
        return built[wanted]

    return build


def pages_of(loaded, brand: str = "plain", paper: str = "a4", layout: str = "handout"):
    """Typeset a loaded lesson as `build` does."""
    from reporter.handout.build import check_references, explain_flight, report_of
    from reporter.measure import measure_session
    from reporter.typeset import load_brand, load_page_layout, typeset_report

    check_references(loaded)
    report = report_of(
        loaded,
        measure_session(loaded.session, loaded.sizes),
        explain_flight(loaded),
        today=TODAY,
    )
    return typeset_report(report, load_page_layout(layout), load_brand(brand), paper)


@pytest.fixture(scope="session")
def demo_pages():
    """Return a function that typesets a demo lesson."""
    from reporter.session.load import load_session

    def pages(lesson: Path = DEMO, brand: str = "plain", paper: str = "a4"):
        return pages_of(load_session(lesson), brand, paper)

    return pages
