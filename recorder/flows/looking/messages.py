"""What is said over the pipes between the program and its lookers: a head in JSON, and bytes.

::

    0   u32   bytes of the head
    4   u32   bytes of the body
    8   ...   the head, a JSON object; the body

Little-endian. Nothing that is read makes an object of Python's but of JSON's, as what comes from a
process that opened a hostile picture may itself be hostile.
"""

from __future__ import annotations

import json
import struct
from dataclasses import dataclass
from typing import BinaryIO

from pydantic import JsonValue

_LENGTHS = struct.Struct("<II")
MOST_HEAD_BYTES, MOST_BODY_BYTES = 16_000_000, 32_000_000


@dataclass(frozen=True)
class Message:
    head: dict[str, JsonValue]
    body: bytes = b""


def send(message: Message, pipe: BinaryIO) -> None:
    """Raises OSError when nobody reads any longer."""
    head = json.dumps(message.head).encode()
    pipe.write(_LENGTHS.pack(len(head), len(message.body)) + head + message.body)
    pipe.flush()


def receive(pipe: BinaryIO) -> Message:
    """The next message. Raises EOFError when the other side has gone, ValueError for no message."""
    head_bytes, body_bytes = _LENGTHS.unpack(_exactly(pipe, _LENGTHS.size))
    if head_bytes > MOST_HEAD_BYTES or body_bytes > MOST_BODY_BYTES:
        raise ValueError("the message is too long")
    head = json.loads(_exactly(pipe, head_bytes))
    if not isinstance(head, dict):
        raise ValueError("the message is none")
    return Message(head, _exactly(pipe, body_bytes))


def _exactly(pipe: BinaryIO, count: int) -> bytes:
    content = pipe.read(count)
    if len(content) < count:
        raise EOFError("the other side has gone")
    return content
