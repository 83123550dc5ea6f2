"""Shelves of an invented firm: what a talk finds where it looks, as the flows would give it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta

from recorder.errors import HomeUnusable
from recorder.knowhow.preparing import checks as checking
from recorder.knowhow.preparing.proposal import Candidate, Check, Proposal
from recorder.knowhow.recipes import deviating, past
from recorder.knowhow.recipes.answer import Deviation, RecipeAnswer
from recorder.knowhow.recipes.belts import same
from recorder.knowhow.trends.chart import Characteristic, Drift, Signal
from recorder.live.shelf import Shelf
from recorder.model.belt import Belt, folded
from recorder.model.inventory import Inventory, Press, Template
from recorder.model.job import Job, in_force
from recorder.model.past import SETTINGS, PastRun
from recorder.model.reading import Reading, Role
from recorder.model.recipe import Bound, Recipe, Setting, Window
from tests.live.session import BEGAN

THIN: dict[str, float | str] = {"belt_material": "Polyurethane", "belt_thickness": 2.0}
OWNED = Inventory(
    presses=(
        Press(name="P2", last_check=date(2026, 10, 1), check_days=30),
        Press(name="P3", last_check=date(2026, 11, 1), check_days=365),
    ),
    templates=(
        Template(name="F80", splice_type="finger", finger_length=80.0, finger_pitch=20.0),
        Template(name="F60", splice_type="finger", finger_length=60.0, finger_pitch=20.0),
    ),
)
SHIFTED = Signal(at=30, since=24, rule="drift", text="crept up", side="above")


def run(number: int, days_ago: int, outcome: str = "accepted", **told: float | str) -> PastRun:
    """A press run of the firm on the thin belt, unless it is told otherwise."""
    values: dict[str, float | str] = {
        **THIN, "press": "P3", "pressure": 2.0, "top_temperature": 172.0,
        "bottom_temperature": 170.0, "dwell_time": 240.0, **told,
    }  # fmt: skip
    at = BEGAN - timedelta(days=days_ago)
    return PastRun(job=f"j{number}", at=at, outcome=outcome, **values)  # type: ignore[arg-type]


@dataclass
class Scripted:
    """Answers from runs and lists as they stand in it. unread: of recipes. unreadable: nothing can
    be read. asked: how often something was looked up.
    """

    runs: Sequence[PastRun] = ()
    recipes_kept: list[Recipe] = field(default_factory=list)
    windows: Sequence[Window] = ()
    owned: Inventory = field(default_factory=Inventory)
    drifting: Mapping[str, Drift] = field(default_factory=dict)
    unread: tuple[str, ...] = ()
    unreadable: bool = False
    asked: int = 0

    def recipes(self, job: Job, splice: int) -> RecipeAnswer:
        self._look()
        belt = Belt.of(in_force(job.readings, splice))
        exact = [each for each in self.runs if same(belt, each.belt)]
        other = [each for each in self.runs if each not in exact]
        near = [(other[0].belt, other)] if other else []
        found = past.answer(belt, exact, near, self.recipes_kept, self.windows)
        return found.model_copy(update={"unread": self.unread})

    def deviations(self, job: Job, splice: int, run: int) -> tuple[Deviation, ...]:
        used = in_force(job.readings, splice, run)
        known = {**in_force(job.readings, splice, run, Role.ASKED), **used}
        settings = {name: float(known[name].value) for name in SETTINGS if name in known}
        return deviating.deviations(settings, self.recipes(job, splice), _told(used, "press"))

    def templates(self, job: Job, splice: int) -> Proposal:
        self._look()
        known = in_force(job.readings, splice)
        length = known.get("finger_length")
        every = [
            Candidate(
                template=each,
                fits=length is None or length.value == each.finger_length,
                unknown=() if length else ("finger_length",),
                used=3,
            )
            for each in self.owned.templates
        ]
        fitting = tuple(each for each in every if each.fits)
        best = fitting[0] if length and fitting else None
        others = () if best else fitting
        unfit = tuple(each for each in every if not each.fits)
        return Proposal(belt=Belt.of(known), best=best, others=others, unfit=unfit)

    def drifts(self, job: Job, splice: int) -> tuple[Drift, ...]:
        self._look()
        press = _told(in_force(job.readings, splice), "press")
        return tuple(each for name, each in self.drifting.items() if name == press)

    def checks(self, job: Job, splice: int) -> tuple[Check, ...]:
        self._look()
        known = in_force(job.readings, splice)
        here = {_told(known, "press"), _told(known, "template")}
        found = checking.to_tell(checking.checks(self.owned, BEGAN.date()))
        return tuple(check for check in found if check.name in here)

    def keep(self, job: Job, splice: int, name: str) -> Recipe:
        self._look()
        known = in_force(job.readings, splice)
        before = [each for each in self.recipes_kept if folded(each.name) == folded(name)]
        values = {field: float(known[field].value) for field in SETTINGS if field in known}
        recipe = Recipe(
            name=before[0].name if before else name,
            version=len(before) + 1,
            belt=Belt.of(known),
            settings=tuple(Setting(field=f, value=v, low=v, high=v) for f, v in values.items()),
            kept_at=BEGAN,
        )
        self.recipes_kept = [*(r for r in self.recipes_kept if r not in before), recipe]
        return recipe

    def _look(self) -> None:
        self.asked += 1
        if self.unreadable:
            raise HomeUnusable(path="/nowhere", detail="the disk does not answer")


def _told(known: Mapping[str, Reading], field: str) -> str | None:
    return str(known[field].value) if field in known else None


def shelf(name: str) -> Scripted:
    """The shelf of a dialogue, by its name."""
    return _SHELVES[name]()


def _oven() -> Scripted:
    """Six jobs on the thin belt, of which one was too hot; no recipe yet."""
    good = [run(n, 20 + n, top_temperature=172.0 + n) for n in range(5)]
    return Scripted([*good, run(9, 90, "rework", top_temperature=185.0)], owned=OWNED)


def _kept() -> Scripted:
    """The same, with a recipe, and a press that drifts."""
    made = _oven()
    settings = (
        Setting(field="pressure", value=2.0, low=2.0, high=2.0),
        Setting(field="top_temperature", value=174.0, low=172.0, high=176.0),
    )
    made.recipes_kept = [
        Recipe(name="Oven 70", belt=Belt.model_validate(THIN), settings=settings, kept_at=BEGAN)
    ]
    made.drifting = {
        "P2": Drift(stream="press", name="P2", characteristic=Characteristic.FINGER_GAP,
                    signal=SHIFTED)
    }  # fmt: skip
    return made


def _window() -> Scripted:
    """A belt maker's window, and nothing else."""
    bound = Bound(field="top_temperature", low=165.0, high=178.0)
    window = Window(
        name="PU thin", belt_material="polyurethane", bounds=(bound,), source="data sheet 7"
    )
    return Scripted(windows=(window,))


_SHELVES: dict[str, Callable[[], Scripted]] = {
    "oven": _oven,
    "kept": _kept,
    "window": _window,
    "empty": Scripted,
    "unreadable": lambda: Scripted(unreadable=True),
}
PROTOCOL: Shelf = Scripted()  # that it is one
