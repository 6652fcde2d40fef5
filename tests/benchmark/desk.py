"""Time the worksheet in a real browser: ``python -m tests.benchmark.desk``.

* first paint: from opening the address to the first question on the screen, beside an empty page
  from the same server, so that a busy machine slows both;
* step: from a key to the next picture of an opened 1080p clip of 240 pictures a second, shown and
  decoded, beside decoding that picture and writing it as JPEG without server and browser.
"""

import shutil
import statistics
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
from playwright.sync_api import Page, sync_playwright

from reporter.video import jpeg_of, open_video
from tests.conftest import DEMO
from tests.desk.conftest import served
from tests.video.clips import TICK

ROUNDS = 9
STEPS = 20
FIRST_PAINT = (
    "performance.getEntriesByType('paint').find(e => e.name === 'first-contentful-paint').startTime"
)


def write_clip(path: Path, count: int = 60) -> None:
    """Write a portrait clip, 1080 x 1920, 240 pictures a second, one keyframe."""
    import av

    grain = np.random.default_rng(1).integers(0, 60, (1920, 1080, 3), np.uint8)
    with av.open(str(path), "w") as container:
        stream = container.add_stream("libx264", rate=240)
        stream.width, stream.height, stream.pix_fmt = 1080, 1920, "yuv420p"
        stream.time_base = stream.codec_context.time_base = TICK
        stream.codec_context.gop_size = 240
        stream.codec_context.options = {"preset": "ultrafast", "crf": "26"}
        for index in range(count):
            picture = np.roll(grain, 7 * index, axis=1) + 90
            frame = av.VideoFrame.from_ndarray(np.ascontiguousarray(picture), format="rgb24")
            frame = frame.reformat(format="yuv420p")
            frame.pts, frame.time_base = round(index / 240 / TICK), TICK
            container.mux(stream.encode(frame))
        container.mux(stream.encode())


def paints(browser, address: str, empty: str) -> tuple[list[float], list[float], list[float]]:
    """Return milliseconds to the first paint, to the first question, and of an empty page."""
    first, question, floor = [], [], []
    for _ in range(ROUNDS):
        context = browser.new_context()
        page: Page = context.new_page()
        begun = time.perf_counter()
        page.goto(address)
        page.wait_for_selector("#f-student-name")
        question.append(1000 * (time.perf_counter() - begun))
        first.append(page.evaluate(FIRST_PAINT))
        begun = time.perf_counter()
        page.goto(empty)
        floor.append(1000 * (time.perf_counter() - begun))
        context.close()
    return first, question, floor


def steps(browser, address: str) -> list[float]:
    """Return milliseconds from a key to the next picture."""
    page = browser.new_page()
    page.goto(address)
    page.wait_for_selector("html[data-ready]", state="attached")
    page.evaluate("location.hash = '#frames'")
    page.wait_for_selector(".large[data-shown]", timeout=120_000)
    page.locator("#stage").focus()
    page.keyboard.press("Home")
    page.wait_for_selector('.large[data-shown="0"]')
    page.wait_for_timeout(500)
    spent = page.evaluate(
        """async (count) => {
          const spent = [];
          const image = document.querySelector('.large');
          for (let at = 1; at <= count; at += 1) {
            const begun = performance.now();
            const key = { key: 'ArrowRight', bubbles: true };
            document.getElementById('stage').dispatchEvent(new KeyboardEvent('keydown', key));
            while (image.dataset.shown !== String(at)) await new Promise(requestAnimationFrame);
            spent.push(performance.now() - begun);
            await new Promise((resolve) => setTimeout(resolve, 120));
          }
          return spent;
        }""",
        STEPS,
    )
    page.close()
    return spent


def bare_steps(path: Path) -> list[float]:
    """Return milliseconds to decode a picture and write it as JPEG, without server and browser."""
    spent = []
    with open_video(path) as video:
        video.frame(0)
        for index in range(1, STEPS + 1):
            begun = time.perf_counter()
            still = next(iter(video.stills([index], 1080)))
            jpeg_of(still.pixels)
            spent.append(1000 * (time.perf_counter() - begun))
    return spent


def main() -> int:
    """Run both and print medians."""
    program = shutil.which("chromium")
    if program is None:
        sys.stderr.write("the program chromium is not installed\n")
        return 1
    with tempfile.TemporaryDirectory() as name, sync_playwright() as playwright:
        folder = Path(name) / "lesson"
        shutil.copytree(DEMO.parent / "frames", folder / "frames")
        shutil.copy(DEMO, folder / DEMO.name)
        shutil.copy(DEMO.parent / "shots.csv", folder / "shots.csv")
        browser = playwright.chromium.launch(executable_path=program, args=["--no-sandbox"])
        with served(folder) as server:
            empty = server.address.split("/?")[0] + "/page/ball.svg"
            first, question, floor = paints(browser, server.address, empty)
        clips = Path(name) / "clips"
        clips.mkdir()
        write_clip(clips / "before-face-on.mp4")
        with served(clips) as server:
            spent = steps(browser, server.address)
        bare = bare_steps(clips / "before-face-on.mp4")
        browser.close()
    rows = {
        "first paint": first,
        "first question to write on": question,
        "an empty page": floor,
        "step to the next picture": spent,
        "decoding and writing that picture alone": bare,
    }
    for what, values in rows.items():
        sys.stdout.write(f"{what}: {statistics.median(values):.0f} ms, worst {max(values):.0f}\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
