"""A whole job by voice in a real browser: ``python -m tests.web.live.whole_job FOLDER``.

One touch, "Start"; from there on everything is said, by a synthetic voice, and heard by the real
recogniser: values, a doubtful one that is asked about and answered, a photo of what the fake camera
shows, and the finish, which signs the report. A technician waits until the recorder has ended to
speak, so what is said next depends on what it asks; the voice therefore goes into the page by the
browser's own mixer, in the place of the microphone. It prints what came of it as JSON.
"""

from __future__ import annotations

import argparse
import base64
import contextlib
import json
import subprocess
import time
from pathlib import Path
from urllib.parse import urlsplit

from playwright.sync_api import Error, Page

from tests.web.browser import launched
from tests.web.live.server import Server
from tests.web.live.visit import begun, job_of, paired
from tests.web.y4m import film

PHOTO = Path(__file__).parents[3] / "demo_media" / "job" / "photo_3_accepted.jpg"
FILM_PX = (2560, 1440)
PATIENCE_MS = 45_000
AGAIN_MS = 9_000
TRIES = 5

LINES = ("The conveyor is isolated and locked out.", "Pressure two bar.", "Top 272 degrees.")
# Words of a question, and what the technician says to it; to all else: later.
ANSWERS = (
    ("two seventy-two", "It was 172 degrees."),
    ("272", "It was 172 degrees."),
    ("correct?", "yes"),
    ("isolat", "yes"),
    ("finish", "yes"),
)

# A microphone that a test speaks into. Each opening gives a new one, as pages stop what they had.
MOUTH = """
const mouth = { context: null, into: null };
const ask = navigator.mediaDevices.getUserMedia.bind(navigator.mediaDevices);
navigator.mediaDevices.getUserMedia = async (wanted) => {
  if (!wanted.audio) return ask(wanted);
  mouth.context ??= new AudioContext();
  mouth.into = mouth.context.createMediaStreamDestination();
  return mouth.into.stream;
};
window.speak = async (text) => {
  const bytes = Uint8Array.from(atob(text), (each) => each.charCodeAt(0));
  const voice = mouth.context.createBufferSource();
  voice.buffer = await mouth.context.decodeAudioData(bytes.buffer);
  voice.connect(mouth.into);
  await new Promise((resolve) => { voice.onended = resolve; voice.start(); });
};
"""
_LISTENS = """
() => !document.body.classList.contains("speaks")
  && !document.querySelector("#camera").open
  && document.querySelector("#sign [data-sign]")?.dataset.sign === "listening"
"""
_SAID = "() => [...document.querySelectorAll('#talk .person')].map((e) => e.innerText).join('|')"


def spoken(words: str, folder: Path) -> str:
    """WAV in base64, with a breath before and behind it."""
    path = folder / "said.wav"
    subprocess.run(["flite", "-voice", "slt", "-t", words, "-o", str(path)], check=True)
    return base64.b64encode(path.read_bytes()).decode()


class Technician:
    def __init__(self, page: Page, folder: Path, pictures: bool) -> None:
        self._page, self._folder, self._pictures = page, folder, pictures
        self.asked: list[str] = []

    def wait(self) -> None:
        """Until the recorder listens, and has done so for a while."""
        quiet = 0
        ends_s = time.monotonic() + PATIENCE_MS / 1000
        while quiet < 3:
            assert time.monotonic() < ends_s, self._page.inner_text("main")
            quiet = quiet + 1 if self._page.evaluate(_LISTENS) else 0
            self._page.wait_for_timeout(150)

    def say(self, words: str, last: bool = False) -> None:
        """Says it again where it was not heard. last: nothing is listened to after it."""
        for _ in range(TRIES):
            self.wait()
            before = self._page.evaluate(_SAID)
            self._page.evaluate("(sound) => window.speak(sound)", spoken(words, self._folder))
            try:
                self._page.wait_for_function(
                    f"(n) => ({_SAID})() > n", arg=before, timeout=AGAIN_MS
                )
                break
            except Error:
                if "/jobs/" in self._page.url:
                    return
        else:
            raise AssertionError(self._page.inner_text("main"))
        if not last:
            self.wait()

    def answer(self) -> None:
        """Whatever is asked, until nothing is."""
        self.wait()
        while question := self._question():
            self.asked.append(question)
            self.picture(f"question_{len(self.asked)}")
            known = (said for words, said in ANSWERS if words in question.lower())
            self.say(next(known, "later"))

    def finish(self) -> None:
        """What is asked before the end stays open; whether it was meant is answered."""
        for _ in range(8):
            meant = "finish" in self._question().lower()
            self.say("yes" if meant else "finish the job", last=True)
            if self._over():
                return
        raise AssertionError(self._page.inner_text("main"))

    def _over(self) -> bool:
        """Whether the page of the finished job opens; False once there is a question again."""
        ends_s = time.monotonic() + PATIENCE_MS / 1000
        while time.monotonic() < ends_s:
            if "/jobs/" in self._page.url:
                return True
            with contextlib.suppress(Error):  # the page has just gone
                if self._page.evaluate(_LISTENS) and self._question():
                    return False
            self._page.wait_for_timeout(200)
        return False

    def picture(self, name: str) -> None:
        if self._pictures:
            self._page.screenshot(path=self._folder / f"{name}.png")

    def _question(self) -> str:
        asks = self._page.locator("#question .ask")
        return asks.inner_text() if asks.count() else ""


def work(page: Page, folder: Path, pictures: bool) -> list[str]:
    technician = Technician(page, folder, pictures)
    for line in LINES:
        technician.say(line)
        technician.answer()
    technician.say("take a photo")
    page.wait_for_selector("#photos .mark.within, #photos .mark.undecided", timeout=PATIENCE_MS)
    technician.answer()
    technician.picture("measured")
    technician.finish()
    return technician.asked


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("folder", type=Path)
    parser.add_argument("--pictures", action="store_true", help="keep pictures of the states")
    asked = parser.parse_args()
    asked.folder.mkdir(parents=True, exist_ok=True)
    camera = film(PHOTO, asked.folder / "camera.y4m", FILM_PX)
    server = Server(asked.folder / "home", hears=True, speaks=True, signs=True)
    hosts: set[str] = set()
    flags = (
        "--use-fake-ui-for-media-stream",
        "--use-fake-device-for-media-stream",
        f"--use-file-for-fake-video-capture={camera}",
    )
    try:
        with launched(*flags) as browser:
            context = paired(browser, server.home, server.port)
            context.on("request", lambda request: hosts.add(str(urlsplit(request.url).hostname)))
            page = begun(context, server.port, MOUTH)
            job = job_of(page)
            questions = work(page, asked.folder, asked.pictures)
    finally:
        server.end()
    print(json.dumps({"job": job, "questions": questions, "hosts": sorted(hosts)}))


if __name__ == "__main__":
    main()
