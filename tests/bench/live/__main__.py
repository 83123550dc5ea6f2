"""How long an answer takes after the end of speech, and whether live hearing hears as well.

``python -m tests.bench.live [--set report] [--count N] [--conditions clean,15]``
reads narrations aloud with synthetic voices (it needs ``.[demo]``, flite and espeak-ng), feeds them
to a whole session in real time as a page does, and prints for the utterances of 3 to 6 s the time
from the end of speech to the first text and to the answer in the view, how late and how slowly a
chunk came to the disk, and the CPU that it took. The pause that ends an utterance is in these
times, and so is what else the machine does: its load is printed beside them.

``--readings`` feeds the same narrations as fast as they are heard, in a live session and as a file,
and prints the outcomes of both and what is wrong and clear. ``--spoken`` reads values back aloud,
and prints what the recogniser makes of that.
"""

from __future__ import annotations

import argparse

from tests.bench.live import latency, readings, said
from tests.bench.narrations import load
from tests.bench.plant import condition


def main() -> None:
    wanted = _parse()
    if wanted.spoken:
        said.measure()
        return
    narrations = load(wanted.set)[:: wanted.every][: wanted.count]
    print(f"{wanted.set}: {len(narrations)} narrations")
    for where in map(condition, wanted.conditions.split(",")):
        if wanted.readings:
            readings.measure(narrations, where)
        else:
            latency.measure(narrations, where)


def _parse() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--set", choices=("development", "report"), default="report")
    parser.add_argument("--count", type=int, default=10, help="at most N narrations (default: 10)")
    parser.add_argument("--every", type=int, default=1, help="only each N-th narration")
    parser.add_argument("--conditions", default="clean,15", help=condition.__doc__)
    parser.add_argument("--readings", action="store_true", help="beside the file path, unpaced")
    parser.add_argument("--spoken", action="store_true", help="how the recorder's voice is heard")
    return parser.parse_args()


if __name__ == "__main__":
    main()
