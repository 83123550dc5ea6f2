"""The process that opens pictures: it reads what is asked from standard input and answers, until
that ends. ``python -m recorder.flows.looking.looker MEMORY_BYTES``.

A thread of its own waits at the pipe, so that the process ends with the program that started it,
however that ended, in the middle of its work too.
"""

from __future__ import annotations

import os
import queue
import sys
import threading
from pathlib import Path
from typing import BinaryIO

import cv2
from pydantic import JsonValue

from recorder.errors import SeamnoteError
from recorder.flows.looking import limits
from recorder.flows.looking.messages import Message, receive, send
from recorder.photo.image.conditions import Conditions
from recorder.photo.image.picture import size_of
from recorder.photo.image.redrawn import redrawn
from recorder.photo.measure import measure
from recorder.photo.preview import preview
from recorder.report.page import pictures
from recorder.report.signing.drawing import normalised


def answer(asked: Message) -> Message:
    """Raises a SeamnoteError for what is no picture or cannot be written."""
    head = asked.head
    path = Path(str(head.get("path")))
    if head["do"] == "preview":
        hint = preview(asked.body, int(str(head["photo_px"])))
        return Message({"hint": hint.model_dump(mode="json")})
    if head["do"] == "size":
        width, height = size_of(path)
        return Message({"width": width, "height": height})
    if head["do"] == "redraw":
        return Message({}, redrawn(path, int(str(head["longest_px"]))))
    if head["do"] == "drawing":
        return Message({}, normalised(asked.body))
    if head["do"] == "pages":
        return Message({"pages": pictures.count(path)})
    if head["do"] == "page":
        return Message({}, pictures.picture(path, int(str(head["number"]))))
    seam = measure(
        path,
        Conditions.model_validate(head["conditions"]),
        Path(str(head["overlay"])),
        name=str(head["name"]),
        plot=Path(str(head["plot"])),
    )
    return Message({"seam": seam.model_dump(mode="json")})


def _refused(error: SeamnoteError) -> Message:
    data: dict[str, JsonValue] = {name: str(value) for name, value in error.data.items()}
    return Message({"error": type(error).__name__, "data": data})


def _listen(pipe: BinaryIO, asked: queue.Queue[Message]) -> None:
    try:
        while True:
            asked.put(receive(pipe))
    except (EOFError, ValueError, OSError):
        os._exit(0)  # at once: nobody waits for an answer any longer


def main() -> None:
    answers = os.fdopen(os.dup(sys.stdout.fileno()), "wb")
    os.dup2(sys.stderr.fileno(), sys.stdout.fileno())  # what a decoder prints is no answer
    cv2.setNumThreads(1)
    limits.settle(int(sys.argv[1]))
    asked: queue.Queue[Message] = queue.Queue()
    threading.Thread(target=_listen, args=(sys.stdin.buffer, asked), daemon=True).start()
    while True:
        message = asked.get()
        limits.allow(float(str(message.head["cpu_s"])))
        try:
            told = answer(message)
        except SeamnoteError as error:
            told = _refused(error)
        except MemoryError:
            told = Message({"error": "MemoryError"})
        send(told, answers)


if __name__ == "__main__":
    main()
