"""A server that is killed: feeds a session with the real engine, and tells what it is told.

``python -m tests.flows.live.child HOME SOUND RATE JOB UNTIL [--drain]``: SOUND is raw samples, of
which the chunks up to UNTIL are fed. JOB may be 'new'. With --drain it ends when all was heard,
and tells the seconds of CPU time since the session was opened.
"""

from __future__ import annotations

import sys
import threading
import time
from datetime import UTC, datetime
from pathlib import Path

from recorder.archive.disk.home import Home
from recorder.flows.live.happening import Happening
from recorder.flows.live.sessions import Sessions
from recorder.live.chunks import Chunk
from recorder.model.recording import GapReason
from tests.flows.live.scripted import SILENT, STRETCH, texts


def main(home: Path, sound: Path, rate_hz: int, job_id: str, until: int, drain: bool) -> None:
    pcm = sound.read_bytes()
    size = rate_hz // 10 * 2
    started_s = time.process_time()
    live = Sessions(Home.open(home), SILENT, None)
    session = live.begin() if job_id == "new" else live.open(job_id)
    changed = threading.Event()
    heard = 0

    def happens(_: Happening) -> None:
        changed.set()

    session.listen(happens)
    print("job", session.job_id, flush=True)
    began = datetime(2026, 11, 25, 20, 45, 30, tzinfo=UTC)
    number = session.stretch(STRETCH, rate_hz, began, "phone", GapReason.FIRST)
    print("wanted", number, flush=True)
    while number < min(until, -(-len(pcm) // size)):
        piece = pcm[number * size : (number + 1) * size]
        number = session.take([Chunk(STRETCH, number, number * size // 2, piece)]).next
        print("saved", number, flush=True)
    while True:
        changed.wait(0.5)
        changed.clear()
        found = texts(session._turns.job)
        for text in found[heard:]:
            print("heard", text, flush=True)
        heard = len(found)
        view = session.view()
        if view.trouble:
            print("trouble", view.trouble, flush=True)
        if drain and view.backlog_s == 0.0:
            print("drained", time.process_time() - started_s, flush=True)
            live.close()
            return


if __name__ == "__main__":
    main(
        Path(sys.argv[1]), Path(sys.argv[2]), int(sys.argv[3]), sys.argv[4], int(sys.argv[5]),
        "--drain" in sys.argv,
    )  # fmt: skip
