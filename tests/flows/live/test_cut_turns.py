"""A turn that is cut off before any of its deeds on the disk: the next start has the
sentence once, with the talk that belongs to it.
"""

import itertools
import multiprocessing
import os
from pathlib import Path

from recorder.archive.disk.home import Home
from recorder.flows import archive
from tests.flows.live.scripted import Page, Script, sessions, texts
from tests.flows.quiet import Quiet

SENTENCES = ["Pressure two bar.", "Dwell four minutes."]
KILLED = 9
_DEEDS = ("fsync", "replace", "truncate")


def _say_and_die(root: Path, deed: int) -> None:
    """In a process of its own: the second sentence, and the end before this deed of it."""
    with sessions(Home.open(root), Script(SENTENCES)) as live:
        page = Page(live.begin())
        page.open()
        page.say(1)
        page.wait_for_utterances(1)
        page.feed([2] * 1600)
        page.session._turns.tick()
        count = itertools.count(1)

        def cut(name: str) -> None:
            real = getattr(os, name)

            def counted(*given: object, **named: object) -> object:
                if next(count) == deed:
                    os._exit(KILLED)
                return real(*given, **named)

            setattr(os, name, counted)

        page.feed([0] * 4800)  # armed behind the sound: its own deeds have a test of their own
        for name in _DEEDS:
            cut(name)
        page.wait_for_utterances(2)
        page.wait(lambda: not page.session._hearing.thinking)
    os._exit(0)


def test_cut_off_at_any_deed_a_sentence_is_there_once(tmp_path: Path) -> None:
    fork = multiprocessing.get_context("fork")
    ended = []
    for deed in range(1, 40):
        root = tmp_path / str(deed)
        child = fork.Process(target=_say_and_die, args=(root, deed))
        child.start()
        child.join()
        ended.append(child.exitcode)
        if child.exitcode == 0:
            break
        _goes_on(Home.open(root))
    assert ended[-1] == 0
    assert set(ended[:-1]) == {KILLED}
    assert len(ended) > 10


def _goes_on(home: Home) -> None:
    with sessions(home, Script(SENTENCES)) as live:
        (job_id,) = live.unfinished()
        page = Page(live.open(job_id))
        page.open()
        job = page.wait_for_utterances(2)
        page.wait(lambda: not page.session._hearing.thinking)
        assert len(page.session._turns.talk.last_turns) == 2
    assert texts(job) == SENTENCES
    assert [reading.field for reading in job.readings] == ["pressure", "dwell_time"]
    assert archive.check(home, Quiet()).faults == ()
