"""The worksheet's page in a real browser: places, saving, two windows, keys, names, contrast."""

import re
import subprocess
import sys
import time

import pytest

from reporter.session.load import load_session
from reporter.yaml_source import read_yaml
from tests.desk.conftest import served
from tests.desk.drivers import DRIVERS, Mouse

FRAME = "face-on-before-setup"
SIZE = (900, 1200)


def point(folder, name, frame=FRAME):
    session = load_session(folder / "session.yaml").session
    return session.frame(frame).points[name]


@pytest.fixture
def coach(browser, desk):
    coach = Mouse(browser, desk.address)
    yield coach
    coach.close()
    assert coach.faults == []


def open_point(coach, name, frame=FRAME):
    coach.page.evaluate(f"location.hash = '#points/{frame}/{name}'")
    coach.page.wait_for_selector(f"#name-{name}[aria-pressed=true]")
    coach.page.locator("#stage img").evaluate("image => image.decode()")


@pytest.mark.parametrize(("scale", "zoom"), [(1, 1), (1, 4), (1.5, 1), (2, 2), (3, 8)])
def test_points_land_within_half_a_picture_pixel(browser, desk, demo_folder, scale, zoom):
    coach = Mouse(browser, desk.address, device_scale_factor=scale)
    try:
        open_point(coach, "ball")
        for _ in range({1: 0, 2: 1, 4: 2, 8: 3}[zoom]):
            coach.press("#larger")
        for place in ((625.3, 1106.4), (629.9, 1098.2)):
            coach.press("#name-ball")
            coach.mark(*place, SIZE)
            coach.saved()
            found = point(demo_folder, "ball").at
            assert max(abs(a - b) for a, b in zip(found, place, strict=True)) <= 0.5
    finally:
        coach.close()


def test_arrow_keys_nudge_and_undo_takes_back(coach, demo_folder):
    x, y = point(demo_folder, "ball").at
    open_point(coach, "ball")
    coach.page.locator("#stage").focus()
    for key in ("ArrowRight", "ArrowDown", "ArrowDown", "Shift+ArrowLeft"):
        coach.page.keyboard.press(key)
    coach.saved()
    assert point(demo_folder, "ball").at == pytest.approx((x + 0.8, y + 2.0), abs=0.11)
    for _ in range(4):
        coach.page.keyboard.press("z")
    coach.saved()
    assert point(demo_folder, "ball").at == (x, y)


def test_a_point_is_clicked_again_and_hidden(coach, demo_folder):
    open_point(coach, "ball")
    coach.mark(620.0, 1100.0, SIZE)
    coach.press("#repeat")
    coach.mark(622.0, 1101.0, SIZE)
    coach.saved()
    marked = point(demo_folder, "ball")
    assert marked.at == pytest.approx((620, 1100), abs=0.5)
    assert marked.again[0] == pytest.approx((622, 1101), abs=0.5)
    coach.press("#name-ball")
    coach.press("#hide")
    coach.saved()
    assert point(demo_folder, "ball").hidden
    assert "ball: hidden" in (demo_folder / "session.yaml").read_text("utf-8")


def test_a_clicked_ball_and_shaft_are_refined(coach, demo_folder):
    """The demo's frames are drawn: the true places stand in its lesson file."""
    true = {name: point(demo_folder, name).at for name in ("ball", "handle", "hosel")}
    open_point(coach, "ball")
    coach.mark(true["ball"][0] + 3.0, true["ball"][1] - 2.5, SIZE)
    coach.press("#snap-ball")
    coach.page.wait_for_selector(".after .advice:has-text('Moved by')")
    coach.saved()
    found = point(demo_folder, "ball").at
    # The click was 3.9 pixels off, the ball's radius is about nine.
    assert max(abs(a - b) for a, b in zip(found, true["ball"], strict=True)) < 1.5
    open_point(coach, "hosel")
    coach.mark(true["hosel"][0] - 4.0, true["hosel"][1], SIZE)
    coach.press("#snap-shaft")
    coach.page.wait_for_selector(".after .advice:has-text('Moved by')")
    coach.saved()
    (x1, y1), (x2, y2) = point(demo_folder, "handle").at, point(demo_folder, "hosel").at
    slope, wanted = (
        (b[0] - a[0]) / (b[1] - a[1])
        for a, b in (((x1, y1), (x2, y2)), (true["handle"], true["hosel"]))
    )
    assert abs(slope - wanted) < 0.012  # 0.7 degrees; the click alone was off by 0.6 to 1


def without_heels(folder):
    """Take two points out of the lesson file, so that they are asked for."""
    path = folder / "session.yaml"
    lines = path.read_text("utf-8").splitlines(keepends=True)
    first = next(n for n, line in enumerate(lines) if "lead_heel:" in line)
    path.write_text("".join(lines[:first] + lines[first + 2 :]), "utf-8")


def test_a_reload_in_mid_mark_loses_nothing(demo_folder, browser):
    without_heels(demo_folder)
    with served(demo_folder) as server:
        coach = Mouse(browser, server.address)
        mark_and_reload(coach, demo_folder)
        coach.close()


def mark_and_reload(coach, demo_folder):
    open_point(coach, "lead_heel")
    coach.mark(601.0, 980.0, SIZE)
    coach.mark(391.0, 981.0, SIZE)
    coach.page.reload()
    coach.page.wait_for_selector("html[data-ready]", state="attached")
    coach.page.wait_for_selector("#stage img")
    coach.page.wait_for_timeout(400)
    assert point(demo_folder, "lead_heel").at == pytest.approx((601, 980), abs=0.5)
    assert point(demo_folder, "trail_heel").at == pytest.approx((391, 981), abs=0.5)
    assert coach.asked_point()[0] == FRAME


def test_a_reload_before_the_answer_sends_it_again(coach, demo_folder):
    """The desk does not answer, the page is loaded anew: what was clicked is still there."""
    open_point(coach, "lead_heel")
    coach.page.route("**/edit*", lambda route: route.abort())
    coach.mark(601.0, 980.0, SIZE)
    coach.page.wait_for_selector("#letters .letter")
    assert "does not answer" in coach.page.inner_text("#letters")
    coach.page.unroute("**/edit*")
    coach.page.reload()
    coach.page.wait_for_selector("html[data-ready]", state="attached")
    coach.saved()
    assert point(demo_folder, "lead_heel").at == pytest.approx((601, 980), abs=0.5)
    coach.faults.clear()


def test_two_windows_cannot_overwrite_each_other(browser, desk, demo_folder):
    one, two = Mouse(browser, desk.address), Mouse(browser, desk.address)
    try:
        # Different fields: both are kept.
        one.page.fill("#f-student-name", "Ada")
        one.page.keyboard.press("Tab")
        two.page.fill("#f-lesson-coach", "Bo Larn")
        two.page.keyboard.press("Tab")
        one.saved()
        two.saved()
        session = load_session(demo_folder / "session.yaml").session
        assert (session.student.name, session.lesson.coach) == ("Ada", "Bo Larn")
        # The same field at the same time: the second is asked.
        two.page.wait_for_timeout(100)
        one.page.fill("#f-lesson-academy", "Hill School")
        two.page.fill("#f-lesson-academy", "Dale School")
        one.page.keyboard.press("Tab")
        one.saved()
        two.page.keyboard.press("Tab")
        two.page.wait_for_selector("#letters .letter")
        told = two.page.inner_text("#letters")
        assert "Dale School" in told
        assert "Hill School" in told
        assert load_session(demo_folder / "session.yaml").session.lesson.academy == "Hill School"
        two.page.click("#letters button >> nth=0")
        two.saved()
        assert load_session(demo_folder / "session.yaml").session.lesson.academy == "Dale School"
        # The other window takes over what was saved.
        one.page.wait_for_selector("#whose:has-text('Dale School')")
    finally:
        one.close()
        two.close()


def test_an_editor_beside_the_page_is_noticed(coach, demo_folder):
    path = demo_folder / "session.yaml"
    path.write_text(path.read_text("utf-8").replace("name: Runa", "name: Vela  # new"), "utf-8")
    coach.page.wait_for_selector("#whose:has-text('Vela')")
    coach.page.fill("#f-lesson-coach", "Bo Larn")
    coach.page.keyboard.press("Tab")
    coach.saved()
    text = path.read_text("utf-8")
    assert "name: Vela  # new" in text
    assert "coach: Bo Larn" in text


def test_the_server_is_killed_and_comes_back(browser, demo_folder):
    """What was typed while it was away is saved when the same address is served again."""
    command = [sys.executable, "-m", "reporter", "desk", str(demo_folder), "--no-browser"]

    def start(*more):
        running = subprocess.Popen(
            [*command, *more], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL
        )
        return running, running.stdout.readline().decode().strip()

    running, address = start()
    coach = Mouse(browser, address)
    try:
        port = re.search(r":(\d+)/", address)[1]
        running.kill()
        running.wait()
        coach.page.fill("#f-student-name", "Ada")
        coach.page.keyboard.press("Tab")
        coach.page.wait_for_selector("#letters:has-text('does not answer')")
        running, again = start("--port", port)
        coach.page.wait_for_selector("#letters:has-text('Open the address')")
        coach.page.goto(again)
        coach.page.wait_for_selector("html[data-ready]", state="attached")
        coach.saved()
        assert load_session(demo_folder / "session.yaml").session.student.name == "Ada"
    finally:
        coach.close()
        running.kill()
        running.wait()
        running.stdout.close()


def test_mistakes_stand_at_their_fields(browser, demo_folder):
    path = demo_folder / "session.yaml"
    text = path.read_text("utf-8")
    text = text.replace("age_band: adult", "age_band: adlt").replace("id: S-0412", "ib: S-0412")
    path.write_text(text.replace("lead_hip: [538.8, 607.2]", "lead_hip: nowhere"), "utf-8")
    with served(demo_folder) as server:
        coach = Mouse(browser, server.address)
        page = coach.page
        assert 'did you mean "adult"?' in page.inner_text("#f-student-age_band .problem")
        stray = page.inner_text("#body-who > .remarks")
        assert 'student.ib, line 14: unknown field "ib"' in stray
        assert "to mend" in page.inner_text("#head-frames")
        page.check("#f-student-age_band input[value=adult]")
        page.wait_for_selector("#f-student-age_band .problem", state="detached")
        coach.close()


def test_a_file_that_is_no_yaml_is_told_and_read_again(browser, demo_folder):
    path = demo_folder / "session.yaml"
    good = path.read_text("utf-8")
    path.write_text(good.replace("student:", "student: [", 1), "utf-8")
    with served(demo_folder) as server:
        coach = Mouse(browser, server.address)
        assert "session.yaml, line" in coach.page.inner_text("#letters")
        path.write_text(good, "utf-8")
        coach.page.click("#sheet button")
        coach.page.wait_for_selector("#f-student-name")
        coach.close()


def test_an_empty_folder_says_what_to_do_and_still_builds(browser, tmp_path):
    with served(tmp_path) as server:
        coach = Mouse(browser, server.address)
        page = coach.page
        page.evaluate("location.hash = '#frames'")
        page.wait_for_selector("#body-frames .lead:has-text('no clips and no pictures')")
        assert not (tmp_path / "session.yaml").exists()
        page.evaluate("location.hash = '#thoughts'")
        coach.type("#f-thoughts-0-say", "Stay tall.")
        page.keyboard.press("Tab")
        coach.saved()
        page.evaluate("location.hash = '#pages'")
        coach.press("#build")
        page.wait_for_selector("#built .done")
        assert (tmp_path / "handout.pdf").read_bytes().startswith(b"%PDF")
        coach.close()


def test_a_folder_that_can_only_be_read_is_told(coach, demo_folder, monkeypatch):
    import reporter.desk.lesson_file
    from reporter.errors import CannotWriteError

    before = (demo_folder / "session.yaml").read_bytes()

    def refuse(*_, **__):
        message = "cannot write session.yaml: the disk can only be read"
        raise CannotWriteError(message)

    monkeypatch.setattr(reporter.desk.lesson_file, "publish", refuse)
    coach.page.fill("#f-student-name", "Ada")
    coach.page.keyboard.press("Tab")
    coach.page.wait_for_selector("#letters:has-text('can only be read')")
    assert coach.page.input_value("#f-student-name") == "Ada"
    monkeypatch.undo()
    coach.saved()  # tried again by itself
    assert (demo_folder / "session.yaml").read_bytes() != before
    coach.faults.clear()


def test_pictures_of_the_folder_are_taken_in(browser, tmp_path):
    import shutil

    from tests.conftest import DEMO

    for source, name in (("face-on-before-top", "IMG_1"), ("face-on-after-top", "IMG_2")):
        shutil.copy(DEMO.parent / "frames" / f"{source}.jpg", tmp_path / f"{name}.jpg")
    with served(tmp_path) as server:
        coach = Mouse(browser, server.address)
        page = coach.page
        page.evaluate("location.hash = '#frames'")
        for when in ("before", "after"):
            row = page.locator(".loose").first
            row.locator("select >> nth=0").select_option(when)
            row.locator("select >> nth=1").select_option("face-on")
            row.locator("select >> nth=2").select_option("top")
            row.locator("button").click()
            page.wait_for_selector(f"figcaption:has-text('{when}, top')")
        coach.saved()
        session = load_session(tmp_path / "session.yaml").session
        assert [frame.file for frame in session.frames] == ["IMG_1.jpg", "IMG_2.jpg"]
        assert len(session.pairs) == 1
        coach.close()


QUESTIONS = ("who", "seen", "frames", "points", "pairs", "thoughts", "drills", "plan", "pages")


def tree(page):
    """The browser's own accessibility tree."""
    session = page.context.new_cdp_session(page)
    found = session.send("Accessibility.getFullAXTree")["nodes"]
    session.detach()
    return [node for node in found if not node.get("ignored")]


def luminance(colour: str) -> float:
    """Relative luminance (W3C, Web Content Accessibility Guidelines 2.1)."""
    channels = [int(part) / 255 for part in re.findall(r"\d+", colour)[:3]]
    linear = [c / 12.92 if c <= 0.03928 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


LOOK = """() => [...document.querySelectorAll('body *')].filter(e => e.offsetParent
  && [...e.childNodes].some(n => n.nodeType === 3 && n.textContent.trim())).map(e => {
  let ground = 'rgb(255, 255, 255)';
  for (let a = e; a; a = a.parentElement) {
    const c = getComputedStyle(a).backgroundColor;
    if (c !== 'rgba(0, 0, 0, 0)') { ground = c; break; }
  }
  const s = getComputedStyle(e);
  return [e.textContent.trim().slice(0, 40), s.color, ground, parseFloat(s.fontSize), s.opacity];
})"""


@pytest.mark.parametrize("question", QUESTIONS)
def test_everything_has_a_name_a_role_and_contrast(coach, question):
    page = coach.page
    page.evaluate(f"location.hash = '#{question}'")
    page.wait_for_selector(f"#question-{question}[data-open=yes]")
    page.wait_for_timeout(400)
    nodes = tree(page)
    roles = {
        "button",
        "textbox",
        "radio",
        "checkbox",
        "combobox",
        "image",
        "searchbox",
        "application",
    }
    seen = set()
    for node in nodes:
        role = node["role"]["value"]
        if role in roles:
            seen.add(role)
            assert node.get("name", {}).get("value", "").strip(), (question, node)
    assert "button" in seen
    headings = [n["name"]["value"] for n in nodes if n["role"]["value"] == "heading"]
    assert len(headings) >= len(QUESTIONS)
    expanded = [
        n for n in nodes if n["role"]["value"] == "button"
        and any(p["name"] == "expanded" and p["value"]["value"] for p in n.get("properties", []))
    ]  # fmt: skip
    assert len(expanded) == 1
    for text, colour, ground, size, opacity in page.evaluate(LOOK):
        one, two = sorted((luminance(colour), luminance(ground)))
        assert (two + 0.05) / (one + 0.05) >= 7.0, (text, colour, ground)
        assert size >= 13, text
        assert opacity == "1"


@pytest.mark.parametrize("question", ["who", "points", "thoughts"])
def test_the_focus_goes_down_the_page(browser, desk, question):
    coach = DRIVERS["keys"](browser, desk.address)
    page = coach.page
    page.evaluate(f"location.hash = '#{question}'")
    page.wait_for_selector(f"#question-{question}[data-open=yes]")
    page.wait_for_timeout(200)
    page.evaluate("document.activeElement.blur()")
    seen = []
    for _ in range(150):
        page.keyboard.press("Tab")
        here = page.evaluate(
            "(() => { const e = document.activeElement; if (!e || e === document.body) return null;"
            " const all = [...document.querySelectorAll('*')];"
            " const s = getComputedStyle(e), b = e.getBoundingClientRect();"
            " const marked = s.outlineStyle !== 'none' || s.textDecorationLine !== 'none'"
            " || s.backgroundColor === 'rgb(227, 232, 237)';"
            " const name = e.id || e.textContent.slice(0, 30);"
            " return [all.indexOf(e), name, b.width * b.height > 0, marked]; })()"
        )
        if here is None or (seen and here[0] == seen[0][0]):
            break
        seen.append(here)
    coach.close()
    assert len(seen) > 12
    order = [place for place, *_ in seen]
    assert order == sorted(order)
    assert all(visible for _, _, visible, _ in seen)
    assert [name for _, name, _, marked in seen if not marked] == []


def test_nothing_is_cut_off_on_a_narrow_screen(browser, desk):
    coach = DRIVERS["touch"](browser, desk.address)
    page = coach.page
    for question in QUESTIONS[:-1]:
        page.evaluate(f"location.hash = '#{question}'")
        page.wait_for_selector(f"#question-{question}[data-open=yes]")
        page.wait_for_timeout(150)
        assert page.evaluate("document.documentElement.scrollWidth") <= 768
        # Targets for a finger: WCAG 2.2, 2.5.8 asks for 24 px.
        small = page.evaluate(
            "[...document.querySelectorAll('button, select, label.ring, label.tick, summary')]"
            ".filter(e => e.offsetParent && e.getBoundingClientRect().height < 24)"
            ".map(e => e.textContent)"
        )
        assert small == []
    coach.close()


def test_the_page_is_there_at_once(browser, desk):
    context = browser.new_context()
    page = context.new_page()
    begun = time.perf_counter()
    page.goto(desk.address)
    page.wait_for_selector("#f-student-name")
    spent = time.perf_counter() - begun
    context.close()
    assert spent < 3.0  # the goal is one second; a busy test machine gets three


def test_every_word_the_page_asks_for_is_there(desk):
    from pathlib import Path

    import reporter.desk
    from reporter.desk.words import page_words

    words = page_words()
    folder = Path(reporter.desk.__file__).parent / "page"
    texts = "\n".join(path.read_text("utf-8") for path in folder.glob("*.js"))
    plain = set(re.findall(r'\bt\("([a-z.\-0-9]+)"', texts))
    assert len(plain) > 100
    assert sorted(plain - set(words)) == []
    # Names that are put together while the page runs, each by its beginning.
    built = {found for found in re.findall(r"\bt\(`([a-z.]+)\$", texts)}
    assert all(any(name.startswith(start) for name in words) for start in built)
    chosen = set(re.findall(r'"([a-z]+\.[a-z.]+)"', texts)) | {"mend.one", "mend.many"}
    unused = {
        name for name in words
        if name not in plain and name not in chosen
        and not any(name.startswith(start) for start in built)
        and not re.match(r"(plays|age|units|language)\.", name)
    }  # fmt: skip
    assert unused == set()
    for name, text in words.items():
        assert text, name


def test_the_lesson_file_keeps_its_comments_on_the_road(coach, demo_folder):
    before = (demo_folder / "session.yaml").read_text("utf-8")
    coach.page.fill("#f-student-name", "Ada")
    coach.page.keyboard.press("Tab")
    coach.saved()
    after = (demo_folder / "session.yaml").read_text("utf-8")
    assert after == before.replace("name: Runa", "name: Ada")
    assert read_yaml(after.encode(), "s").value["student"]["name"] == "Ada"
