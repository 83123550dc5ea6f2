"""Which template fits a belt."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from recorder.knowhow.preparing.proposal import Proposal
from recorder.model.belt import Belt
from recorder.model.inventory import Inventory


def proposal(belt: Belt, inventory: Inventory, used: Mapping[str, int], today: date) -> Proposal:
    return Proposal(belt=belt)
