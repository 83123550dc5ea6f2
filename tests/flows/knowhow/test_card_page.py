"""All wording of the page of a job card stands in the catalogue."""

import re
from collections.abc import Iterator
from pathlib import Path

from recorder.flows.knowhow import card_page
from recorder.flows.knowhow.drafting import Draft, Held, Known, Origin
from recorder.flows.knowhow.filling import fill, remark, taken, typed
from recorder.knowhow.preparing import length as lengths
from recorder.knowhow.preparing.proposal import Candidate, Proposal
from recorder.knowhow.recipes.answer import Deviation, OnBelt, RecipeAnswer, Share, Spread, Tried
from recorder.knowhow.trends.chart import Characteristic, Drift, Signal
from recorder.model.inventory import Template
from recorder.model.length import Allowances, Drive
from recorder.model.reading import Standing
from recorder.report.card import drawing
from recorder.report.card.context import Card
from recorder.report.content.pictures import PictureTray
from recorder.report.page import look as looks
from recorder.report.page.templates import fill as filled_in
from recorder.report.wording.wording import writing
from recorder.settings import ReportSettings
from tests.archive.sample_jobs import NOW, reading
from tests.report.wording import pseudo
from tests.report.wording.test_pseudo import CODES, MONTHS, SYMBOLS

FIRM = ReportSettings(firm="Quillback Belt Service", units={"length": "inch", "pressure": "psi"})
WHOSE = "recipe Oven 70, version 2"


def template(name: str, fits: bool, *reasons: str) -> Candidate:
    owned = Template(name=name, splice_type="finger")
    return Candidate(template=owned, fits=fits, reasons=reasons)


def full() -> Draft:
    """With everything that the page has words for."""
    draft = typed(Draft(), {
        "job_number": "5120", "customer": "Ouzel", "guide_profile": "notched_v_guided",
        "splice_type": "double_finger", "template": "T9", "top_temperature": "350 degF",
        "pressure": "2 bar", "supply_phases": "3",
    })  # fmt: skip
    others = {
        Origin.JOB: reading("belt_width", 70.0), Origin.RECIPE: reading("belt_thickness", 2.0),
        Origin.CONVEYOR: reading("press", "P2"), Origin.SAID: reading("dwell_time", 180.0),
    }  # fmt: skip
    draft = fill(draft, [taken(each, origin, "4817") for origin, each in others.items()])
    accepted = Tried(
        outcome="accepted", jobs=2, runs=3, last_job="4817", last_at=NOW,
        settings=(Spread(field="pressure", count=3, usual=2.0, low=2.0, high=2.2),
                  Spread(field="dwell_time", count=1, usual=180.0, low=180.0, high=180.0)),
    )  # fmt: skip
    on_belt = OnBelt(
        belt=draft.belt, share=Share(accepted=3, of=4, low=0.3, high=0.95), tried=(accepted,)
    )
    bounds: dict[str, tuple[float | None, float | None]] = {
        "top_temperature": (171.0, 174.0), "pressure": (None, 1.8), "dwell_time": (200.0, None),
    }  # fmt: skip
    signal = Signal(at=9, since=2, rule="drift", text="crept up", side="above")
    known = Known(
        answer=RecipeAnswer(asked=draft.belt, exact=on_belt),
        held=Held(settings={"pressure": 2.0}, whence=WHOSE),
        template=Proposal(belt=draft.belt, best=template("T3", True, "fits well"),
                          unfit=(template("T9", False, "too short"),)),
        deviations=tuple(
            Deviation(field=field, value=draft.settings[field], low=low, high=high,
                      against="recipe", whose=WHOSE)
            for field, (low, high) in bounds.items()
        ),
        drifts=(Drift(stream="press", name="P2", characteristic=Characteristic.FINGER_GAP,
                      signal=signal),),
    )  # fmt: skip
    doubt = reading("finger_pitch", 10.0, standing=Standing.DOUBTFUL)
    drive = Drive(pulley_1=250, pulley_2=200, centres=300)
    length = lengths.belt_length(drive, Allowances(fingers=80, take_up=30, trim=20), 500, 0.8)
    return draft.model_copy(
        update={"known": known, "doubts": (doubt,), "length": length, "meant": ("pressure",)}
    )


def outside(draft: Draft, folder: Path) -> Iterator[str]:
    """What stands on the page and neither in the catalogue nor in the data."""
    look = looks.read(None)
    with writing("en", (folder / "templates", *look.folders)):
        card = card_page.compose(draft, FIRM, PictureTray(folder), NOW)
        shown = [filled_in(card, look, "job_card.html")]
        if draft.length:
            shown.append(drawing.svg(draft.length, True, FIRM.units))
    text = "\n".join(map(pseudo.outside, shown))
    names = ("Quillback Belt Service", WHOSE, "Ouzel", "too short", "fits well", "seamnote:")
    for name in names:
        text = text.replace(name, " ")
    for found in re.finditer(r"[^\W\d_]{2,}", text):
        if found[0] not in SYMBOLS | CODES | MONTHS:
            yield text[max(0, found.start() - 40) : found.end() + 40]


def test_all_wording_of_the_card_stands_in_the_catalogue(tmp_path: Path) -> None:
    pseudo.write(tmp_path / "templates")
    assert list(outside(full(), tmp_path)) == []
    assert list(outside(Draft(), tmp_path)) == []


def test_a_template_that_was_not_chosen_is_one_of_those_that_fit(tmp_path: Path) -> None:
    draft = full()
    used = tuple(each for each in draft.used if each.reading.field != "template")
    card = composed(draft.model_copy(update={"used": used}), tmp_path)
    assert card.template is not None
    assert (card.template.name, card.template.reasons) == ("", ())
    assert card.template.others == ("T3: fits well",)


def test_sources_that_disagree_are_told_by_label_and_no_setting_twice(tmp_path: Path) -> None:
    draft = remark(remark(full(), "belt_width: 80 mm (typed)"), "pressure: 2 bar (typed)")
    known = draft.known.model_copy(update={"unsuited": ("pressure: P2 takes up to 1 bar",)})
    card = composed(draft.model_copy(update={"known": known}), tmp_path)
    words = [each.word for each in card.notices if each.kind == "none"]
    assert words == ["Pressure: P2 takes up to 1 bar", "Belt width: 80 mm (typed)"]


def composed(draft: Draft, folder: Path) -> Card:
    with writing("en", looks.read(None).folders):
        return card_page.compose(draft, FIRM, PictureTray(folder), NOW)
