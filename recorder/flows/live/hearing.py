"""The sound on the disk to utterances, on a thread of its own, so that recording waits for nothing.

::

    disk ─► what was spoken over is blanked ─► Listening (resample, endpoints, ear) ─► Turns.hear

The disk is the queue: what was not heard yet is what lies behind the place up to which a stretch
was fed. So a slow recogniser makes a backlog and never a gap, memory does not grow with it, and
after a restart hearing goes on where the last utterance that the job holds ended.
"""

from __future__ import annotations

import contextlib
import threading
import time
from collections import deque
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from recorder.archive.jobs.sound import SAMPLE_BYTES, Sound
from recorder.archive.jobs.sounds import Sounds
from recorder.errors import SeamnoteError, WrongUse
from recorder.flows.live.ears import Coming, Hears, Listens
from recorder.flows.live.memory import Keeper, Muted
from recorder.flows.live.turns import Turns
from recorder.flows.live.unforeseen import note
from recorder.voice.audio import SAMPLE_RATE_HZ

BLOCK_S = 0.5
# After the page said that a stretch ends, its last chunks may still be on their way.
LATE_S = 1.5
# A link may be down for long while the page goes on recording; then a sentence is cut in two.
_GIVEN_UP_S = 30.0
_AHEAD = 3  # utterances that are being heard while more sound is looked through
_AGAIN_S = 5.0  # after a failure
_TRIES = 3  # at an utterance at which the program itself fails
_SORRY = "what was said could not be taken in"


@dataclass
class _Followed:
    """One stretch. fed: up to which sample of it. known: samples when it was last looked at, at
    came_at by the monotonic clock.
    """

    sound: Sound
    fed: int
    known: int
    came_at: float
    listens: Listens | None = None

    @property
    def file(self) -> str:
        return self.sound.recording.file

    @property
    def unfed_s(self) -> float:
        return (self.sound.samples - self.fed) / self.sound.head.rate_hz

    def silent_s(self) -> float:
        """How long nothing came."""
        if self.sound.samples != self.known:
            self.known, self.came_at = self.sound.samples, time.monotonic()
        return time.monotonic() - self.came_at


class Hearing:
    """The thread that hears one session.

    idle: called about twice a second while nobody speaks and nothing is to be heard. changed: what
    a page shows is another. prompt: likely words.
    """

    def __init__(
        self,
        sounds: Sounds,
        keeper: Keeper,
        turns: Turns,
        hears: Hears,
        prompt: Callable[[], str],
        idle: Callable[[], None],
        changed: Callable[[], None],
    ) -> None:
        self._sounds, self._keeper, self._turns, self._hears = sounds, keeper, turns, hears
        self._prompt, self._idle, self._changed = prompt, idle, changed
        self._followed: dict[str, _Followed] = {}  # replaced, never changed: others look at it
        self._over: frozenset[str] = frozenset()  # names of stretches of which no more is expected
        self._waiting: deque[tuple[_Followed, Coming]] = deque()
        self._wake = threading.Condition()
        self._poked = False
        self._stopped = False
        self._failed: tuple[str, int, int] = ("", 0, 0)
        self.text = ""  # of what is being heard, before it is understood
        self.trouble = ""
        self._passes = False  # whether the trouble is over when nothing fails any more
        self._thread = threading.Thread(target=self._run, name="hearing", daemon=True)

    def start(self) -> None:
        self._thread.start()

    def poke(self) -> None:
        """There is something new to look at."""
        with self._wake:
            self._poked = True
            self._wake.notify()

    def over(self, but: str = "") -> None:
        """No more is expected of the stretches, except of the one with that name."""
        names = frozenset(sound.head.name for sound in self._sounds.all())
        self._over = names - {but}
        self.poke()

    def stop(self) -> None:
        """Returns when the thread has ended; what it had not finished is heard another time."""
        self._stopped = True
        self.poke()
        if self._thread.is_alive() and self._thread is not threading.current_thread():
            self._thread.join()

    @property
    def backlog_s(self) -> float:
        """Seconds of sound that are on the disk and not yet understood, but for open speech."""
        waiting = [(p.end - p.start) / SAMPLE_RATE_HZ for _, p in tuple(self._waiting)]
        known = self._followed
        new = [each.seconds for each in self._sounds.all() if each.head.name not in known]
        return sum(each.unfed_s for each in known.values()) + sum(waiting) + sum(new)

    @property
    def thinking(self) -> bool:
        return bool(self._waiting)

    @property
    def done(self) -> bool:
        """Whether all that is there was heard, to the end of each stretch. For its own thread."""
        return not self._waiting and all(
            each.unfed_s == 0 and each.listens is None for each in self._all()
        )

    @property
    def quiet(self) -> bool:
        """Whether nobody speaks, and nothing is to be heard. For its own thread."""
        listening = [each.listens for each in self._all() if each.listens]
        behind = any(each.unfed_s > BLOCK_S for each in self._all())
        return not (self._waiting or behind or any(each.speaking for each in listening))

    def _all(self) -> list[_Followed]:
        """All stretches, new ones too, in order."""
        for sound in self._sounds.all():
            if sound.head.name not in self._followed:
                heard = self._heard(sound)
                new = _Followed(sound, heard, -1, time.monotonic())
                self._followed = {**self._followed, sound.head.name: new}
        return list(self._followed.values())

    def _heard(self, sound: Sound) -> int:
        """Up to which sample a stretch was heard, as job and memory have it."""
        file = sound.recording.file
        said = [t.utterances for t in self._turns.job.transcripts if t.file == file]
        ends = [u.end_s or 0.0 for utterances in said for u in utterances]
        in_job = int(max(ends, default=0.0) * sound.head.rate_hz)
        return min(sound.samples, max(in_job, self._keeper.point.heard.get(file, 0)))

    def _run(self) -> None:
        while not self._stopped:
            try:
                if not self._step():
                    self._rest()
            except Exception as error:  # hearing goes on, whatever happens to one sentence
                self._mend(error)

    def _rest(self) -> None:
        with self._wake:
            if not self._poked:
                self._wake.wait(BLOCK_S / 2)
            self._poked = False

    def _step(self) -> bool:
        """Do one thing that is to be done; whether there was any."""
        if self._waiting and self._waiting[0][1].future.done():
            self._understand(*self._waiting[0])
            return True
        if len(self._waiting) < _AHEAD:
            for each in self._all():
                if self._feed(each) or self._close(each):
                    return True
        self._idle()
        if self._passes:
            self.trouble, self._passes = "", False
            self._changed()
        return False

    def _understand(self, each: _Followed, pending: Coming) -> None:
        said = pending.future.result()
        rate_hz = each.sound.head.rate_hz
        start, heard = (at * rate_hz // SAMPLE_RATE_HZ for at in (pending.start, pending.end))
        self.text = ""
        if said is None or _mostly(start, heard, self._muted(each)):
            self._keeper.heard(each.file, heard)
        else:
            model, software = self._hears.model(), self._hears.software()
            self._turns.hear(each.file, said, heard, model, software)
        self._waiting.popleft()
        self.trouble = ""
        self._changed()

    def _feed(self, each: _Followed) -> bool:
        each.silent_s()  # notes when sound came
        count = min(each.sound.samples - each.fed, int(BLOCK_S * each.sound.head.rate_hz))
        if count <= 0:
            return False
        pcm = each.sound.read(each.fed, count)
        if each.listens is None:
            self._hears.software()  # raises where nothing can hear
            each.listens = self._hears.listening(
                each.sound.head.rate_hz, self._prompt, self._early, each.fed
            )
        spoke = each.listens.speaking
        ended = each.listens.feed(blanked(pcm, each.fed, self._muted(each)))
        each.fed += count
        self._wait_for(each, ended)
        if ended or spoke != each.listens.speaking:
            self._changed()
        return True

    def _muted(self, each: _Followed) -> list[Muted]:
        name = each.sound.head.name
        return [span for span in self._keeper.now.muted if span.name == name]

    def _close(self, each: _Followed) -> bool:
        """End what is open in a stretch of which no more is expected."""
        if each.listens is None or each.unfed_s:
            return False
        over = each.sound.head.name in self._over
        if each.silent_s() < (LATE_S if over else _GIVEN_UP_S):
            return False
        listens, each.listens = each.listens, None
        self._wait_for(each, listens.finish())
        return True

    def _wait_for(self, each: _Followed, ended: Iterable[Coming]) -> None:
        for pending in ended:
            self._waiting.append((each, pending))
            pending.future.add_done_callback(lambda _: self.poke())

    def _early(self, text: str) -> None:
        self.text = text
        self._changed()

    def _mend(self, error: Exception) -> None:
        """Tell what is wrong, and go back to what the job holds; then it is tried again."""
        # Of wrong use no speaker is guilty, but the program.
        known = isinstance(error, SeamnoteError) and not isinstance(error, WrongUse)
        if not known and self._waiting and self._tried(*self._waiting[0]) >= _TRIES:
            self._pass_over(*self._waiting[0])
        sorry = "" if known else f"{note(_SORRY, error)}; the sound is kept, say it again"
        self.trouble = sorry or str(error)
        self._passes = known
        self.text = ""
        for each in self._followed.values():
            if each.listens:
                each.listens.stop()
        self._waiting.clear()
        self._followed = {}
        self._changed()
        with self._wake:
            self._wake.wait_for(lambda: self._stopped, _AGAIN_S)

    def _tried(self, each: _Followed, pending: Coming) -> int:
        """How often the program failed at this utterance."""
        file, end, tries = self._failed
        tries = tries + 1 if (file, end) == (each.file, pending.end) else 1
        self._failed = (each.file, pending.end, tries)
        return tries

    def _pass_over(self, each: _Followed, pending: Coming) -> None:
        """Leave a sentence at which the program fails to a person, who finds it in the notes."""
        span_s = (pending.start / SAMPLE_RATE_HZ, pending.end / SAMPLE_RATE_HZ)
        with contextlib.suppress(Exception):  # then it is tried again
            self._turns.not_understood(each.file, *span_s)
            heard = pending.end * each.sound.head.rate_hz // SAMPLE_RATE_HZ
            self._keeper.heard(each.file, heard)


def _mostly(start: int, end: int, muted: Iterable[Muted]) -> bool:
    """Whether most of an utterance is what the loudspeaker said, which was told too late for it to
    be blanked.
    """
    over = sum(max(0, min(end, span.end) - max(start, span.start)) for span in muted)
    return over > (end - start) / 2


def blanked(pcm: bytes, first: int, muted: Iterable[Muted]) -> bytes:
    """The samples from the place ``first`` of a stretch, silent where the loudspeaker spoke."""
    samples = bytearray(pcm)
    count = len(pcm) // SAMPLE_BYTES
    for span in muted:
        start, end = (min(max(0, at - first), count) for at in (span.start, span.end))
        samples[start * SAMPLE_BYTES : end * SAMPLE_BYTES] = bytes((end - start) * SAMPLE_BYTES)
    return bytes(samples)
