"""Fit the trust in heard values to a speech model: ``python -m tests.bench.calibrate``.

Hears the development set in every condition with the model of ``--model`` (the bundled one when
not given), and fits the weights of ``recorder.notes.hearing.signals`` by logistic regression: was
the value that was read the true one? Prints, for thresholds of trust, what would be asked and what
would pass wrong, cross-validated over narrations, and the table for
``recorder/notes/hearing/trust.toml`` or, under [trust."NAME"], for the ``settings.toml`` of a home.
Never shown the report set.

A value that is wrong in the written text as well is left out: there the grammar is at fault, and no
hearing can tell.
"""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from recorder.model.calibration import Calibration
from recorder.model.job import in_force
from recorder.model.reading import Reading, Standing
from recorder.model.transcript import Transcript
from recorder.notes.extract import extract
from recorder.notes.hearing.signals import Signals
from recorder.notes.written import from_text
from recorder.settings import SpeechSettings
from tests.bench.narrations import Narration, load
from tests.bench.plant import condition
from tests.bench.scoring import agree
from tests.bench.speech import hear
from tests.bench.voices import VOICES

CONDITIONS = ("clean", "15", "10", "5")
# Trusts everything, so that what is still doubtful is so by a rule and not by its hearing.
_TRUSTING = Calibration(weights={}, clear_from=0.5)
_FOLDS = 6
_RIDGE = 0.2  # of the weights, in observations
_STEPS = 4000
# Silent errors of all readings that the threshold may leave on the development set: with little
# noise half of what the project promises, because the voices of a user are others.
_ALLOWED = {"clean": 0.002, "15": 0.004, "10": 0.015, "5": 0.02}

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Case:
    """One value that was read. ruled: asked about whatever the trust. counted: the value is right
    in the written text, so that its hearing decides.
    """

    narration: str
    condition: str
    signals: Signals
    right: bool
    ruled: bool
    counted: bool


def main() -> None:
    wanted = _parse()
    settings = SpeechSettings(model=wanted.model, device=wanted.device)
    narrations = load("development")[: wanted.count]
    cases: list[Case] = []
    model = ""
    for name in CONDITIONS:
        for number, narration in enumerate(narrations):
            voice = VOICES[number % len(VOICES)]
            told = hear(narration, voice, condition(name), number, wanted.transcripts, settings)
            model = told.transcript.model or model
            cases += _cases(narration, name, told.transcript)
        print(f"{name}: {len(cases)} values so far", flush=True)
    names = sorted({name for case in cases for name in case.signals.measures()})
    counted = [case for case in cases if case.counted]
    trust = _cross_validated(counted, names)
    _print_thresholds(counted, trust)
    weights = _fit(_matrix(counted, names), _labels(counted), names)
    print(f'\n["{model}"]\nclear_from = {_threshold(counted, trust):.3f}\n\n["{model}".weights]')
    for name, weight in zip(names, weights, strict=True):
        print(f'"{name}" = {weight:.2f}')


def _parse() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--model", default="bundled", help="as speech.model in settings.toml")
    parser.add_argument("--device", default="cpu", choices=("cpu", "cuda", "auto"))
    parser.add_argument("--count", type=int, help="only the first N narrations")
    kept = "keep what was heard there, and do not hear again what lies there; one for each model"
    parser.add_argument("--transcripts", type=Path, metavar="FOLDER", help=kept)
    return parser.parse_args()


def _cases(narration: Narration, name: str, transcript: Transcript) -> list[Case]:
    own = {transcript.model or "": _TRUSTING}
    found = extract(transcript, own=own)
    written = _truths(narration, extract(from_text("\n".join(narration.lines), "")).readings)
    by_evidence = {_place(reading): signals for reading, signals in found.signals}
    cases = []
    for key, (reading, right) in _truths(narration, found.readings).items():
        signals = by_evidence.get(_place(reading))
        if signals is None:
            continue
        on_paper = written.get(key)
        counted = right or on_paper is None or on_paper[1]
        ruled = reading.standing is Standing.DOUBTFUL
        cases.append(Case(narration.name, name, signals, right, ruled, counted))
    return cases


def _place(reading: Reading) -> tuple[object, ...]:
    return (reading.field, reading.splice, reading.run, reading.evidence)


def _truths(narration: Narration, readings: tuple[Reading, ...]) -> dict[str, tuple[Reading, bool]]:
    """What is in force at each place that the truth names, and what was invented, with whether it
    is right.
    """
    found = {}
    last = in_force(readings)
    for slot in narration.truth:
        reading = in_force(readings, slot.splice, slot.run).get(slot.field)
        if reading is not None:
            found[slot.key] = (reading, agree(slot.field, reading.value, slot.value))
    told = {slot.field for slot in narration.truth}
    found |= {field: (reading, False) for field, reading in last.items() if field not in told}
    return found


def _matrix(cases: Sequence[Case], names: Sequence[str]) -> Floats:
    measures = [case.signals.measures() for case in cases]
    return np.array([[m.get(name, 0.0) for name in names] for m in measures])


def _labels(cases: Sequence[Case]) -> Floats:
    return np.array([float(case.right) for case in cases])


def _fit(signals: Floats, right: Floats, names: Sequence[str]) -> Floats:
    """Weights by logistic regression. All but the one that every value has are held at 0 or below:
    a signal against a value must never speak for it, however the cases fell.
    """
    common = np.array([name == "heard" for name in names])
    weights = np.zeros(len(names))
    # The step of gradient descent that is safe for the curvature of the logistic loss.
    step = 4 / (np.linalg.norm(signals, 2) ** 2 + 4 * _RIDGE)
    for _ in range(_STEPS):
        trust = 1 / (1 + np.exp(-signals @ weights))
        gradient = signals.T @ (right - trust) - _RIDGE * np.where(common, 0.01, 1.0) * weights
        weights += step * gradient
        weights = np.where(common, weights, np.minimum(weights, 0.0))
    return weights


def _cross_validated(cases: Sequence[Case], names: Sequence[str]) -> Floats:
    """The trust in each case by weights that were fitted without its narration."""
    matrix, labels = _matrix(cases, names), _labels(cases)
    fold_of = {name: n % _FOLDS for n, name in enumerate(dict.fromkeys(c.narration for c in cases))}
    folds = np.array([fold_of[case.narration] for case in cases])
    trust = np.zeros(len(cases))
    for fold in range(_FOLDS):
        held = folds == fold
        weights = _fit(matrix[~held], labels[~held], names)
        trust[held] = 1 / (1 + np.exp(-matrix[held] @ weights))
    return trust


def _print_thresholds(cases: Sequence[Case], trust: Floats) -> None:
    print("\nclear from" + "".join(f"{f'{name}: clear, silent':>26}" for name in CONDITIONS))
    for threshold in (0.8, 0.85, 0.9, 0.925, 0.95, 0.96, 0.97, 0.98, 0.985, 0.99, 0.995):
        shares = (_shares(cases, trust, name, threshold) for name in CONDITIONS)
        print(
            f"{threshold:10}" + "".join(f"{clear:18.1%}{silent:8.2%}" for clear, silent in shares)
        )


def _shares(
    cases: Sequence[Case], trust: Floats, name: str, threshold: float
) -> tuple[float, float]:
    """Of the values read in a condition: right and clear, and wrong and clear."""
    here = [n for n, case in enumerate(cases) if case.condition == name]
    clear = [n for n in here if trust[n] >= threshold and not cases[n].ruled]
    wrong = sum(not cases[n].right for n in clear)
    return (len(clear) - wrong) / max(1, len(here)), wrong / max(1, len(here))


def _threshold(cases: Sequence[Case], trust: Floats) -> float:
    """The least that leaves no more silent errors than allowed in any condition."""
    for threshold in np.arange(0.5, 0.999, 0.005):
        silent = {name: _shares(cases, trust, name, threshold)[1] for name in CONDITIONS}
        if all(silent[name] <= _ALLOWED[name] for name in CONDITIONS):
            return float(threshold)
    return 0.999


if __name__ == "__main__":
    main()
