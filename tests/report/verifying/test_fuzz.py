"""Damage of every kind is refused with a reason, and never ends in anything but a verdict."""

import random
import re

import pytest

from recorder.report.verifying.reasons import Fault
from tests.report.verifying import reports
from tests.report.verifying.conftest import Judge

FLIPS, CUTS, HOLES, STRANGE = 100, 30, 30, 40


def gap(content: bytes) -> tuple[int, int]:
    *_, match = re.finditer(rb"/ByteRange \[0 (\d+) (\d+) \d+\]", content)
    return int(match[1]), int(match[2])


def test_flips_all_over_the_file(judge: Judge) -> None:
    report = reports.approved()
    accepted = []
    for position in range(0, len(report), len(report) // FLIPS):
        changed = bytearray(report)
        changed[position] ^= 1 << position % 8
        if not judge(bytes(changed)).failed:
            accepted.append(position)
    assert accepted == []


def test_flips_around_the_last_signature(judge: Judge) -> None:
    """Its dictionary, its container with both certificates, its padding and all that follows."""
    report = reports.approved()
    start, _ = gap(report)
    accepted = []
    for position in range(start - 300, len(report), 83):
        changed = bytearray(report)
        changed[position] ^= 1 << position % 8
        if not judge(bytes(changed)).failed:
            accepted.append(position)
    assert accepted == []


def test_cuts(judge: Judge) -> None:
    """But for the one at the end of the certification, which only an expectation can tell."""
    report = reports.approved()
    rng = random.Random(5)
    places = [rng.randrange(20, len(report)) for _ in range(CUTS)]
    places += [len(report) - 1, len(reports.certified()) - 1, len(reports.certified()) + 1]
    assert [place for place in places if not judge(report[:place]).failed] == []


def test_zeroed_ranges(judge: Judge) -> None:
    report = reports.approved()
    rng = random.Random(6)
    accepted = []
    for _ in range(HOLES):
        start = rng.randrange(len(report) - 1)
        length = min(rng.choice([1, 16, 512, 20_000]), len(report) - start)
        changed = report[:start] + bytes(length) + report[start + length :]
        if changed != report and not (start == 0 or judge(changed).failed):
            accepted.append(start)
    assert accepted == []


def test_strange_revisions(judge: Judge) -> None:
    """What follows a good certification is read as a PDF, whatever it is."""
    report = reports.certified()
    revision = reports.approved()[len(report) :].replace(b"/ByteRange", b"/BiteRange")
    rng = random.Random(7)
    for _ in range(STRANGE):
        changed = bytearray(revision)
        for _ in range(rng.choice([1, 5, 50])):
            changed[rng.randrange(len(changed))] = rng.choice(b"\0 0123456789/<>[]()R\xff")
        found = judge(report + bytes(changed))
        assert found.faults
        assert found.signatures[0].intact


def test_hex_digits_of_the_other_case(judge: Judge) -> None:
    report = reports.certified()
    start, end = gap(report)
    changed = report[:start] + report[start:end].lower() + report[end:]
    assert changed != report
    assert "form in which it was written" in judge(changed).failed


@pytest.mark.parametrize("digit", [b"1", b"F"])
def test_padding_is_part_of_the_file(judge: Judge, digit: bytes) -> None:
    report = reports.certified()
    _, end = gap(report)
    found = judge(report[: end - 2] + digit + report[end - 1 :])
    assert [each.reason for each in found.faults] == [Fault.SIGNATURE_DAMAGED]


def test_emptied_signature(judge: Judge) -> None:
    report = reports.certified()
    start, end = gap(report)
    assert judge(report[:start] + b"<>" + report[end:]).failed
