"""Make the pictures of recipes, trends and preparation in the README's tour.

``python -m demo_media.make_knowhow_tour [HOME]``; HOME is one that ``demo_media.past_jobs`` filled,
and without it one is made, which takes ten minutes. Needs what the tests need and pdftoppm. Prints
what the recorder answered by voice, for the README's text.
"""

from __future__ import annotations

import io
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path
from urllib.parse import urlencode

from PIL import Image
from playwright.sync_api import Page

from demo_media import past_jobs
from recorder.archive.disk.home import Home
from tests.web.browser import launched
from tests.web.live.server import Server
from tests.web.live.visit import paired
from tests.web.live.whole_job import MOUTH, Technician, spoken

TOUR = Path(__file__).with_name("tour")
PHONE = {"viewport": {"width": 412, "height": 915}, "device_scale_factor": 1.5}
TABLET = {"viewport": {"width": 800, "height": 930}, "device_scale_factor": 1.25}
SETTINGS = '[report]\nfirm = "Quillback Belt Service"\ntechnician = "Imke Dorn"\n'
BELT = {"belt_material": "Polyurethane (TPU), white", "belt_width": "70 mm"}
CARD = {
    "from_conveyor": "Oven outfeed 3", "from_recipe": "Oven 70", "v_job_number": "4920",
    "v_template": "T30-10", "v_technician": "Imke Dorn", "v_top_temperature": "185 degC",
    "l_trim": "20 mm", "l_elongation": "0.8 %",
}  # fmt: skip
QUESTIONS = (
    "What did we use on this belt last time?",
    "Which template fits this belt?",
    "How long do I cut?",
    "How is this press doing?",
)
TOLD = "() => [...document.querySelectorAll('#talk .words')].map((e) => e.innerText)"
MEANT = "/meant/.test(document.querySelector('#question').innerText)"
LULL_MS = 20_000


def run(home: Path, *words: str) -> None:
    """One command of the program."""
    subprocess.run([sys.executable, "-m", "recorder", *words, "--home", home], check=False)


def small(picture: Image.Image, name: str) -> None:
    picture.convert("RGB").quantize(64).save(TOUR / name, optimize=True)


def papers(home: Path, folder: Path) -> None:
    """A control chart, and a job card as it is printed."""
    chart = folder / "chart.png"
    run(home, "trend", "finger_gap", "--press", "P2", "--png", str(chart))
    with Image.open(chart) as picture:
        picture.thumbnail((1200, 1200))
        small(picture, "knowhow-chart.png")
    run(
        home, "prepare", "--conveyor", "Oven outfeed 3", "--recipe", "Oven 70",
        "job_number=4920", "template=T30-10", "technician=Imke Dorn", "--trim", "20mm",
        "--elongation", "0.8%", "--yes", "--out", str(folder / "card"),
    )  # fmt: skip
    page = ["pdftoppm", "-r", "90", "-l", "1", "-singlefile", "-png"]
    subprocess.run([*page, folder / "card" / "job_card.pdf", folder / "card"], check=True)
    with Image.open(folder / "card.png") as picture:
        small(picture, "knowhow-card.png")


def shot(page: Page, name: str) -> None:
    page.mouse.move(0, 0)
    with Image.open(io.BytesIO(page.screenshot())) as picture:
        small(picture, f"{name}.png")


def recipe(page: Page, port: int) -> None:
    """What past jobs on a belt did."""
    page.goto(f"http://localhost:{port}/recipes?{urlencode(BELT)}")
    page.evaluate("scrollBy(0, document.querySelector('table').getBoundingClientRect().top - 200)")
    shot(page, "knowhow-recipe")


def voice(page: Page, port: int, folder: Path) -> None:
    """A job that begins with its card and asks past jobs."""
    page.goto(f"http://localhost:{port}/prepare?{urlencode(CARD)}")
    page.get_by_role("button", name="Start the job with this card").click()
    page.wait_for_url("**/live/**")
    page.click("#start")
    page.wait_for_selector("#sign:not([hidden])")
    technician = Technician(page, folder, pictures=False)
    technician.say("The conveyor is isolated and locked out.")
    technician.wait()
    page.evaluate("(sound) => window.speak(sound)", spoken(QUESTIONS[0], folder))
    page.wait_for_selector("#known table")
    shot(page, "knowhow-voice")
    technician.wait()
    print("\n".join(page.evaluate(TOLD)))
    for question in QUESTIONS[1:]:
        technician.say(question)
    page.wait_for_function(f"() => {MEANT}", timeout=LULL_MS)
    technician.say("yes")
    print("\n".join(page.evaluate(TOLD)))


def make(home: Path, folder: Path) -> None:
    (home / "settings.toml").write_text(SETTINGS, encoding="utf-8")
    run(home, "recipe", "keep", "4798", "Oven 70", "--reason", "good for months")
    run(home, "inventory", "checked", "P2", "--on", "2026-11-25")
    papers(home, folder)
    server = Server(home, hears=True, speaks=True)
    flags = ("--use-fake-ui-for-media-stream", "--use-fake-device-for-media-stream")
    try:
        with launched(*flags) as browser:
            recipe(paired(browser, server.home, server.port, **TABLET).new_page(), server.port)
            page = paired(browser, server.home, server.port, **PHONE).new_page()
            page.add_init_script(MOUTH)
            voice(page, server.port, folder)
    finally:
        server.end()


def main() -> None:
    TOUR.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as name:
        home = Path(name) / "home"
        if sys.argv[1:]:
            shutil.copytree(sys.argv[1], home)
        else:
            past_jobs.fill(Home.open(home))
        make(home, Path(name))


if __name__ == "__main__":
    main()
