"""The furnished home and its device, with the firm's lists."""

from __future__ import annotations

from pathlib import Path

import pytest

from recorder.flows.knowhow import firm
from tests.web.jobs.conftest import client, made
from tests.web.jobs.places import Made

__all__ = ["client", "listed", "made"]

INVENTORY = """
[[press]]
name = "Press P2"
platen_width = "800 mm"
platen_length = "160 mm"
top = "210 degC"
last_check = 2024-10-01
check_days = 365

[[template]]
name = "T80-20 <b>"
splice_type = "finger"
finger_length = "80 mm"
finger_pitch = "20 mm"
guide_profiles = ["flat"]
width = "60 mm..650 mm"
"""
CONVEYORS = """
[[conveyor]]
customer = "Larkfield Bakery"
site = "Packing hall 2"
name = "Oven outfeed 3"
belt_material = "PU-20 green"
belt_width = "600 mm"
belt_thickness = "2 mm"
guide_profile = "flat"
pulley_1 = "250 mm"
pulley_2 = "200 mm"
centres = "4.2 m"
press = "Press P2"
"""


@pytest.fixture
def listed(made: Made, tmp_path: Path) -> Made:
    """The same home with an inventory and a conveyor."""
    for text, take in ((INVENTORY, firm.take_inventory), (CONVEYORS, firm.take_conveyors)):
        path = tmp_path / "list.toml"
        path.write_text(text)
        take(made.home, path)
    return made
