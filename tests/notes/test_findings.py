from __future__ import annotations

import pytest

from recorder.model.reading import Standing
from tests.notes.telling import states

CLEAR, DOUBTFUL = Standing.CLEAR, Standing.DOUBTFUL


@pytest.mark.parametrize(
    ("text", "field", "value", "standing"),
    [
        ("No bubbles.", "bubbles", False, CLEAR),
        ("I can't see any bubbles.", "bubbles", False, CLEAR),
        ("Bubbles: none.", "bubbles", False, CLEAR),
        ("The seam is bubble-free.", "bubbles", False, CLEAR),
        ("Free of bubbles.", "bubbles", False, CLEAR),
        ("No blisters on either side.", "bubbles", False, CLEAR),
        ("Three small bubbles near the right edge.", "bubbles", True, CLEAR),
        ("There is one bubble.", "bubbles", True, CLEAR),
        ("The bubbles are gone.", "bubbles", False, CLEAR),
        ("Not a single bubble.", "bubbles", False, CLEAR),
        ("No, bubbles.", "bubbles", True, DOUBTFUL),
        ("No bubbles. Bubbles on the left.", "bubbles", True, DOUBTFUL),
        ("Isolation confirmed.", "isolation_confirmed", True, CLEAR),
        ("The drive is locked out.", "isolation_confirmed", True, CLEAR),
        ("Isolation is not confirmed yet.", "isolation_confirmed", False, CLEAR),
        ("It is not isolated.", "isolation_confirmed", False, CLEAR),
        ("Splice accepted.", "outcome", "accepted", CLEAR),
        ("Accepted.", "outcome", "accepted", CLEAR),
        ("I reject this splice.", "outcome", "rejected", CLEAR),
        ("The splice has failed the bend test.", "outcome", "rejected", CLEAR),
        ("This one needs rework.", "outcome", "rework", CLEAR),
        ("Splice not accepted.", "outcome", "rejected", DOUBTFUL),
        ("Is the splice accepted?", "outcome", "accepted", DOUBTFUL),
        ("It is a double finger splice.", "splice_type", "double_finger", CLEAR),
        ("The test run was good.", "test_run", "ok", CLEAR),
    ],
)
def test_finding(text: str, field: str, value: bool | str, standing: Standing) -> None:
    assert states(text) == {field: (value, standing)}


@pytest.mark.parametrize(
    "text",
    [
        "Check for bubbles.",
        "Any bubbles?",
        "If there are bubbles, stop.",
        "Last week it was rejected.",
        "The splice would be accepted.",
        "The parcel from the depot was accepted.",
    ],
)
def test_no_finding(text: str) -> None:
    assert states(text) == {}
