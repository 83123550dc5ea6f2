"""Questions about past jobs by voice in a real browser: ``python -m tests.web.live.past_asked
FOLDER``.

A home with three jobs on one belt; everything is said by a synthetic voice and heard by the real
recogniser, and read from the page. It prints what was answered as JSON.
"""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from typing import Any

from playwright.sync_api import Page

from recorder.archive.disk.home import Home
from recorder.flows.knowhow import firm
from tests.flows.knowhow.past_jobs import keep_job, told
from tests.web.browser import launched
from tests.web.live.server import Server
from tests.web.live.visit import begun, job_of, paired
from tests.web.live.whole_job import MOUTH, PATIENCE_MS, Technician, spoken

BELT: dict[str, Any] = {
    "belt_material": "polyester",
    "belt_thickness": None,
    "belt_width": None,
    "guide_profile": None,
    "template": "F 80",
}
INVENTORY = """
[[template]]
name = "F 80"
splice_type = "finger"
finger_length = "80 mm"
finger_pitch = "20 mm"
"""
TOLD = "() => [...document.querySelectorAll('#talk .recorder .words')].map((e) => e.innerText)"
MEANT = "/meant/.test(document.querySelector('#question').innerText)"
LULL_MS = 20_000  # with time for a slow machine


def past_jobs(folder: Path) -> Home:
    home = Home.open(folder / "home")
    for number, (outcome, top) in enumerate(
        (("accepted", 172.0), ("accepted", 174.0), ("accepted", 173.0))
    ):
        readings = told(str(4800 + number), outcome, top=top, press="P 600", **BELT)
        keep_job(home, readings, days=10 + number)
    file = folder / "inventory.toml"
    file.write_text(INVENTORY, encoding="utf-8")
    firm.take_inventory(home, file)
    return home


def work(page: Page, folder: Path, pictures: bool) -> list[str]:
    """What the recorder said, in order."""
    technician = Technician(page, folder, pictures)
    technician.say("The belt material is polyester.")
    technician.say("Yes.")
    technician.say("What did we use on this belt last time?")
    page.wait_for_selector("#known table")
    technician.picture("last_time")
    technician.say("Which template fits this belt?")
    technician.say("The conveyor is isolated. Top one hundred eighty five degrees.")
    page.wait_for_function(f"() => {MEANT}", timeout=LULL_MS)
    technician.picture("meant")
    technician.wait()
    page.evaluate("(sound) => window.speak(sound)", spoken("Yes.", folder))
    page.wait_for_function(f"() => !{MEANT}", timeout=LULL_MS)
    return list(page.evaluate(TOLD))


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("folder", type=Path)
    parser.add_argument("--pictures", action="store_true", help="keep pictures of the states")
    asked = parser.parse_args()
    home = past_jobs(asked.folder)
    server = Server(home.root, hears=True)
    flags = ("--use-fake-ui-for-media-stream", "--use-fake-device-for-media-stream")
    try:
        with launched(*flags) as browser:
            context = paired(browser, server.home, server.port)
            page = begun(context, server.port, MOUTH)
            page.set_default_timeout(PATIENCE_MS)
            job = job_of(page)
            said = work(page, asked.folder, asked.pictures)
    finally:
        server.end()
    print(json.dumps({"job": job, "said": said}))


if __name__ == "__main__":
    main()
