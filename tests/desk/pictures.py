"""Take the worksheet's pictures for the documents: ``python -m tests.desk.pictures``."""

import io
import shutil
import sys
import tempfile
from pathlib import Path

from PIL import Image
from playwright.sync_api import sync_playwright

from tests.conftest import DEMO, ROOT
from tests.desk.conftest import served
from tests.desk.drivers import Mouse

TARGET = ROOT / "docs" / "pictures"
SHOWN = {"points": ("points/face-on-before-impact/hosel", 1180), "changes": ("pairs", 1160)}


def main() -> int:
    """Write one picture for each question shown."""
    program = shutil.which("chromium")
    if program is None:
        sys.stderr.write("the program chromium is not installed\n")
        return 1
    with tempfile.TemporaryDirectory() as name, sync_playwright() as playwright:
        folder = Path(name) / "lesson"
        shutil.copytree(DEMO.parent / "frames", folder / "frames")
        shutil.copy(DEMO.parent / "shots.csv", folder / "shots.csv")
        text = DEMO.read_text("utf-8")
        (folder / DEMO.name).write_text(text, "utf-8")
        browser = playwright.chromium.launch(executable_path=program, args=["--no-sandbox"])
        with served(folder) as server:
            for what, (question, height) in SHOWN.items():
                coach = Mouse(browser, server.address, viewport={"width": 800, "height": height})
                coach.page.evaluate(f"location.hash = '#{question}'")
                coach.page.wait_for_timeout(1_500)
                coach.page.evaluate("document.activeElement.blur(); scrollTo(0, 0)")
                image = Image.open(io.BytesIO(coach.page.screenshot()))
                small = image.convert("RGB").quantize(128, dither=Image.Dither.NONE)
                small.save(TARGET / f"desk-{what}.png", optimize=True)
                coach.close()
        browser.close()
    return 0


if __name__ == "__main__":
    sys.exit(main())
