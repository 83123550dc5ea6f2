"""Whole dialogues, as files that a reader can check with the eye.

``>`` somebody says, behind ``|`` what the second hearing makes of it. ``<`` the recorder answers;
without one it says nothing. ``+`` so many seconds pass, with all that the recorder says by itself
below it. ``*`` a photo, a touch, a restart, a value of the job card (``card``), or the past jobs by
which it goes on (``shelf``, see ``shelves.py``). ``=`` a value in force and its standing, or ``-``
for none. ``.`` the job has ended. Times and files are those of ``session.py``.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from recorder.live import turn as live
from recorder.live.talk import Turn
from recorder.model.job import MediaFile, MediaKind, PhotoNote
from recorder.model.measurement import Decision, Measurement, SeamMeasurement
from recorder.model.reading import Role, Typed
from recorder.notes.languages import vocabulary_of
from recorder.notes.typed import typed_reading
from recorder.notes.words.speaking import speaking
from tests.live.session import Session
from tests.live.shelves import shelf

SCRIPTS = sorted((Path(__file__).parent / "dialogues").glob("*.txt"))
Line = tuple[int, str, str]


def lines_of(script: Path) -> list[Line]:
    """Number, sign and text of each line that is no comment."""
    text = script.read_text(encoding="utf-8").splitlines()
    return [
        (number, line[0], line[1:].strip())
        for number, line in enumerate(text, 1)
        if line.strip() and not line.startswith("#")
    ]


def taken(session: Session, text: str) -> list[str]:
    """A photo or a touch, by its words."""
    what, *rest = text.split(maxsplit=1)
    given = rest[0] if rest else ""
    if what == "photo":
        return [session.take(photographed(session, given))]
    if what == "yes":
        yes = live.confirm(session.talk, session.job, None, session.now, session.shelf)
        return [session.take(yes)]
    if what == "shelf":
        session.shelf = shelf(given)
        return []
    if what == "no":
        return [session.take(live.deny(session.talk, session.job, session.now))]
    if what == "later":
        return [session.take(live.later(session.talk, session.job, session.now))]
    field, text = given.split(maxsplit=1)
    if what == "card":
        asked = typed_reading(field, text, Typed(file="job.toml"), Role.ASKED)
        readings = (*session.job.readings, asked)
        session.job = session.job.model_copy(update={"readings": readings})
        return []
    if what == "enter":
        return [session.take(live.enter(session.talk, session.job, field, text, session.now))]
    assert what == "replace"
    place = session.job.readings.index(session.in_force()[field])
    return [session.take(live.replace(session.talk, session.job, place, text, session.now))]


def photographed(session: Session, given: str) -> Turn:
    """'0.31 0.04 within', or 'refused: the card is cut off; show it whole'."""
    name = f"photo_{len(session.job.measurements) + 1}.jpg"
    if given.startswith("refused: "):
        found = SeamMeasurement(file=name, status="refused", reason=given.partition(": ")[2])
    else:
        value, uncertainty, decision = given.split()
        found = SeamMeasurement(
            file=name,
            status="measured",
            gap_max=Measurement(value=float(value), U=float(uncertainty), unit="mm"),
            decisions={"finger_gap": Decision(decision)},
            decision=Decision(decision),
        )
    media = MediaFile(name=name, path=name, kind=MediaKind.PHOTO, sha256="0" * 64, size_bytes=1)
    note = PhotoNote(file=name, splice=session.talk.splice, run=session.talk.run)
    session.job = session.job.model_copy(
        update={
            "media": (*session.job.media, media),
            "photos": (*session.job.photos, note),
            "measurements": (*session.job.measurements, found),
        }
    )
    return live.seen(session.talk, session.job, found, session.now)


def held(session: Session, field: str) -> str:
    """'2 bar clear', as an ``=`` line has it behind the field; '-' for none."""
    name, _, place = field.partition("@")
    splice, _, run = place.partition(".")
    where = (int(splice), int(run or 1)) if splice else (None, None)
    reading = session.in_force(*where).get(name)
    return f"{reading.shown()} {reading.standing}" if reading else "-"


def play(script: Path) -> list[str]:
    """The script as it came out: equal to its lines when all is as it stands there."""
    session, out = Session(), []
    for number, sign, text in lines_of(script):
        if sign == "<":
            continue
        said: list[str] = []
        shown = text
        if sign == ">":
            first, _, second = text.partition(" | ")
            said = [session.says(first, second or "=")]
        elif sign == "+":
            said = session.waits(float(text))
        elif sign == "*" and text == "restart":
            session = session.restarted()
        elif sign == "*":
            said = taken(session, text)
        elif sign == "=":
            field = text.split()[0]
            shown = f"{field} {held(session, field)}"
        elif sign == ".":
            shown = "ended" if session.finished else "goes on"
        else:
            raise ValueError(f"{script.name}:{number}: no line begins with {sign!r}")
        out.append(f"{sign} {shown}".strip())
        out += [f"< {each}" for each in said if each]
    return out


@pytest.mark.parametrize("script", SCRIPTS, ids=lambda script: script.stem)
def test_dialogue(script: Path) -> None:
    language = "de" if script.stem.endswith("_german") else "en"
    with speaking(vocabulary_of(language)):
        came = play(script)
    assert came == [f"{sign} {text}".strip() for _, sign, text in lines_of(script)]


def test_there_are_dialogues_and_a_wrong_line_fails(tmp_path: Path) -> None:
    assert len(SCRIPTS) >= 8
    wrong = tmp_path / "wrong.txt"
    wrong.write_text("> Pressure two bar.\n< Pressure three bar.\n= pressure 3 bar clear\n")
    assert play(wrong) == ["> Pressure two bar.", "< Pressure two bar.", "= pressure 2 bar clear"]
