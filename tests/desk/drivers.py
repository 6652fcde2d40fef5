"""Three ways to work on the page: by mouse, by keys alone, by touch; each counts its actions."""

import math
from pathlib import Path

PATIENCE_MS = 30_000
SCREENS = {
    "mouse": {"viewport": {"width": 1280, "height": 900}, "locale": "en-GB"},
    "keys": {"viewport": {"width": 1024, "height": 800}, "locale": "en-GB"},
    "touch": {
        "viewport": {"width": 768, "height": 1024},
        "locale": "en-GB",
        "has_touch": True,
        "device_scale_factor": 2,
    },
}


class Driver:
    """A coach at the page.

    Attributes
    ----------
    actions : int
        Clicks, taps and key strokes so far; a typed text counts once.
    sentences : int
        Texts typed.
    faults : list of str
        What the browser complained about.
    """

    way = "mouse"

    def __init__(self, browser, address: str, **screen) -> None:
        self.context = browser.new_context(**(SCREENS[self.way] | screen))
        self.page = self.context.new_page()
        self.page.set_default_timeout(PATIENCE_MS)
        self.actions = 0
        self.sentences = 0
        self.faults: list[str] = []
        self.asked: list[str] = []
        self.page.on("pageerror", lambda error: self.faults.append(str(error)))
        self.page.on("console", self._heard)
        self.page.on("request", lambda request: self.asked.append(request.url))
        self.page.goto(address)
        self.page.wait_for_selector("html[data-ready]", state="attached")

    def _heard(self, message) -> None:
        if message.type == "error" and "409" not in message.text:
            self.faults.append(message.text)

    def close(self) -> None:
        self.context.close()

    def press(self, selector: str) -> None:
        """Click a button or a ring."""
        self.actions += 1
        self.page.click(selector)

    def type(self, selector: str, text: str) -> None:
        """Write a text into a field."""
        self.press(selector)
        self.actions += 1
        self.sentences += 1
        self.page.keyboard.insert_text(text)

    def mark(self, x: float, y: float, size: tuple[int, int]) -> None:
        """Set the point that is asked for at a place of the picture [px]."""
        self.actions += 1
        self.page.mouse.click(*self.on_screen(x, y, size))

    def on_screen(self, x: float, y: float, size: tuple[int, int]) -> tuple[float, float]:
        """Return where a place of the picture is on the screen."""
        self.page.locator("#stage").scroll_into_view_if_needed()
        box = self.page.evaluate(
            "(() => { const b = document.querySelector('#stage img').getBoundingClientRect();"
            " return [b.x, b.y, b.width, b.height]; })()"
        )
        return box[0] + x / size[0] * box[2], box[1] + y / size[1] * box[3]

    def saved(self) -> None:
        """Wait until everything is on the disk."""
        self.page.wait_for_timeout(20)
        self.page.wait_for_selector("#saved:text('saved in session.yaml')")

    def asked_point(self) -> tuple[str, str]:
        """Return the frame and the point that is asked for."""
        _, frame, point = self.page.evaluate("location.hash").lstrip("#").split("/")
        return frame, point

    def picture(self, path: Path) -> None:
        """Keep how the page looks."""
        self.page.screenshot(path=path, full_page=True)


class Mouse(Driver):
    """Clicks."""


class Touch(Driver):
    """Taps."""

    way = "touch"

    def press(self, selector: str) -> None:
        self.actions += 1
        self.page.tap(selector)

    def mark(self, x: float, y: float, size: tuple[int, int]) -> None:
        self.actions += 1
        self.page.touchscreen.tap(*self.on_screen(x, y, size))


class Keys(Driver):
    """Keys alone: Tab to a thing, then Enter, Space, arrows or digits."""

    way = "keys"

    def reach(self, selector: str) -> None:
        """Go to a thing by Tab, forward or else backward."""
        name = selector.removeprefix("#")
        for key, most in (("Tab", 90), ("Shift+Tab", 180)):
            for _ in range(most):
                if (
                    self.page.evaluate("document.activeElement && document.activeElement.id")
                    == name
                ):
                    return
                self.page.keyboard.press(key)
        message = f"{selector} cannot be reached by Tab"
        raise AssertionError(message)

    def press(self, selector: str) -> None:
        self.actions += 1
        self.reach(selector)
        kind = self.page.evaluate("document.activeElement.type")
        self.page.keyboard.press("Space" if kind in ("radio", "checkbox") else "Enter")

    def type(self, selector: str, text: str) -> None:
        self.actions += 1
        self.sentences += 1
        self.reach(selector)
        self.page.keyboard.insert_text(text)

    def mark(self, x: float, y: float, size: tuple[int, int]) -> None:
        self.actions += 1
        self.reach("#stage")
        left, top, width, height = 0.0, 0.0, float(size[0]), float(size[1])
        while width >= 0.8:
            width, height = width / 3, height / 3
            column = min(max(math.floor((x - left) / width), 0), 2)
            row = min(max(math.floor((y - top) / height), 0), 2)
            left, top = left + column * width, top + row * height
            self.page.keyboard.press("789456123"[3 * row + column])
        self.page.keyboard.press("Enter")


DRIVERS = {"mouse": Mouse, "keys": Keys, "touch": Touch}
