"""transcribe, extract, quantities, card, measure: one piece of evidence, without a job."""

from __future__ import annotations

import argparse
import sys
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

from recorder.cli.terminal import (
    Commands,
    StageLines,
    command,
    each,
    home_path,
    in_language,
    open_home,
    print_json,
    settings_of,
    spoken_language,
    warn,
    words_of,
)

if TYPE_CHECKING:
    from recorder.model.transcript import Transcript


def add(commands: Commands, shared: argparse.ArgumentParser) -> None:
    hear = command(
        commands, shared, "transcribe", "recordings to words with times and probabilities", _hear
    )
    hear.add_argument("files", nargs="+", type=Path, metavar="AUDIO")
    spoken_language(hear)

    extract = command(
        commands, shared, "extract", "readings from recordings or written narrations", _extract
    )
    extract.add_argument(
        "files", nargs="+", type=Path, metavar="FILE", help="audio, .txt, or - for standard input"
    )
    extract.add_argument(
        "--asked", metavar="FIELD", help="each file is the answer to a question about this field"
    )

    spoken_language(extract)

    quantities = command(
        commands, shared, "quantities",
        "read lines on standard input, write one JSON list of quantities a line", _quantities,
    )  # fmt: skip
    spoken_language(quantities)

    card = command(commands, shared, "card", "the reference card to print at 100 %", _card)
    card.add_argument(
        "--size", metavar="SIZE",
        help="S for belts of 10 to 21 mm (as large as a bank card), SM 20 to 40 mm, M 35 to 100 mm "
        "(default), L 90 to 200 mm",
    )  # fmt: skip
    card.add_argument("--belt", metavar="WIDTH", help="the card for this belt, e.g. '60 mm'")
    card.add_argument("--list", action="store_true", help="the sizes, their belts and their bars")
    card.add_argument("--pdf", type=Path, metavar="FILE", help="write a page to print (default)")
    card.add_argument("--png", type=Path, metavar="FILE", help="write the art as a picture")
    card.add_argument(
        "--measured", metavar="X,Y",
        help="what a caliper reads on the two bars of your print, in mm: kept as its true scale",
    )  # fmt: skip
    card.add_argument("--dpi", type=int, default=600, help="of the picture (default: 600)")

    measure = command(
        commands, shared, "measure", "gap, width, offset and skew in photos", _measure
    )
    measure.add_argument("photos", nargs="+", type=Path, metavar="PHOTO")
    measure.add_argument("--belt-thickness", metavar="LENGTH", help="e.g. '2 mm'")
    measure.add_argument("--card-on", choices=("belt", "bench"), help="where the card lies")
    measure.add_argument(
        "--print-scale", metavar="X,Y", help="caliper reading / nominal length of the printed card"
    )
    measure.add_argument(
        "--camera", metavar="NAME|FILE",
        help="that took the photos, as 'seamnote camera' kept it (default: the kept one that the "
        "photo's EXIF names)",
    )  # fmt: skip
    measure.add_argument(
        "--limits", type=Path, metavar="FILE",
        help="TOML with [[limit]] entries as on a job card, or the same as JSON: these limits "
        "alone (default: the job card beside the photo, then the belt's type and the house)",
    )  # fmt: skip
    measure.add_argument(
        "--overlays", type=Path, metavar="DIR",
        help="where overlay and plot of each photo go (default: 'measured' in the home)",
    )  # fmt: skip


def _hear(arguments: argparse.Namespace) -> int:
    from recorder.notes.words.vocabulary import hearing_prompt
    from recorder.voice.transcribe import transcribe

    home = home_path(arguments)
    settings = in_language(settings_of(home), arguments.language)
    progress = StageLines()

    def hear(path: Path) -> int:
        progress.stage(f"hearing {path.name}")
        transcript = transcribe(path, settings.speech, hearing_prompt(()), progress.share)
        progress.close()
        if arguments.json:
            print_json(_transcript_json(path, transcript))
        else:
            print("\n".join(f"{u.start_s or 0:8.2f}  {u.text}" for u in transcript.utterances))
        return 0

    with words_of(home, settings):
        return each(arguments.files, hear)


def _transcript_json(path: Path, transcript: Transcript) -> dict[str, object]:
    return {
        **transcript.model_dump(mode="json"),
        "file": str(path),
        "text": " ".join(utterance.text for utterance in transcript.utterances),
    }


def _extract(arguments: argparse.Namespace) -> int:
    from recorder.flows import extract
    from recorder.notes.written import from_text

    home = home_path(arguments)
    settings = in_language(settings_of(home), arguments.language)
    progress = StageLines()

    def take(path: Path) -> int:
        if str(path) == "-":
            found = extract.understand(from_text(sys.stdin.read(), "-"), settings, arguments.asked)
        else:
            found = extract.from_file(path, settings, arguments.asked, progress)
        progress.close()
        if arguments.json:
            print_json(extract.as_json(str(path), found))
        else:
            print(path)
            for reading in found.readings:
                place = f"{reading.splice}.{reading.run}"
                why = f"  ({reading.why})" if reading.why else ""
                print(f"  {place}  {reading.field:22} {reading.shown():22} {reading.standing}{why}")
            for note in found.notes:
                print(f"  note {note.text}")
        return 4 if extract.has_doubt(found) else 0

    with words_of(home, settings):
        return each(arguments.files, take)


def _quantities(arguments: argparse.Namespace) -> int:
    from recorder.notes.quantities import find_quantities

    home = home_path(arguments)
    with words_of(home, in_language(settings_of(home), arguments.language)):
        for line in sys.stdin:
            found = find_quantities(line.rstrip("\n"))
            print_json([asdict(quantity) for quantity in found])
    return 0


def _card(arguments: argparse.Namespace) -> int:
    from recorder.flows import card
    from recorder.photo.card.layout import CARD_SIZES

    if arguments.list:
        for each_size in CARD_SIZES.values():
            print_json(card.row(each_size)) if arguments.json else print(card.line(each_size))
        return 0
    layout = card.layout(arguments.size, arguments.belt)
    if arguments.measured:
        kept = card.keep_measured(open_home(arguments), layout, arguments.measured)
        if arguments.json:
            print_json(kept.model_dump(mode="json"))
        else:
            x, y = kept.print_scale
            print(f"Print scale of your card {kept.size}: {x:.5f} across, {y:.5f} down; kept")
        if card.remark(kept):
            warn(card.remark(kept))
        return 0
    if arguments.png:
        card.write_png(layout, arguments.png, arguments.dpi)
    if arguments.pdf or not arguments.png:
        pdf = arguments.pdf or Path(f"seamnote-card-{layout.size}.pdf")
        card.write_pdf(layout, pdf)
        if not arguments.json:
            print(card.line(layout))
            print(f"Written to {pdf}. Print it at 100 %, read both bars with a caliper, then")
            print(f"seamnote card --size {layout.size} --measured ACROSS,DOWN   (in mm)")
    if arguments.json:
        print_json(card.as_json(layout))
    return 0


def _measure(arguments: argparse.Namespace) -> int:
    from recorder.archive.disk.home import Home
    from recorder.cli.job_text import measured
    from recorder.flows import cameras, limits, measure

    home = home_path(arguments)
    settings = settings_of(home).photo
    own_limits = limits.read(arguments.limits) if arguments.limits else None
    camera = cameras.named(Home(home), arguments.camera) if arguments.camera else None
    kept = cameras.all_kept(Home(home)) if camera is None else ()
    overlays = arguments.overlays or home / "measured"
    progress = StageLines()

    def take(path: Path) -> int:
        conditions = measure.conditions(
            path, settings, arguments.belt_thickness, arguments.card_on, arguments.print_scale,
            own_limits, camera, kept,
        )  # fmt: skip
        progress.stage(f"measuring {path.name}")
        seam = measure.one(path, conditions, overlays)
        progress.close()
        if arguments.json:
            print_json(seam.model_dump(mode="json"))
        else:
            print("\n".join(measured(seam)))
        if seam.status == "refused":
            warn(seam.reason if str(path) in seam.reason else f"{path}: {seam.reason}")
        return measure.exit_code(seam)

    return each(arguments.photos, take)
