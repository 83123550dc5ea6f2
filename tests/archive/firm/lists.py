"""An invented firm's lists, as files that it wrote."""

from __future__ import annotations

from pathlib import Path

INVENTORY = """\
# what stands in the workshop
[[press]]
name = "Press 2"
platen_width = "650 mm"
platen_length = "16 cm"
top = "428 degF"
pressure = "3 bar"
last_check = 2026-09-01
check_days = 365

[[template]]
name = "T30-10"
splice_type = "finger"
finger_length = "30 mm"
finger_pitch = "10 mm"
guide_profiles = ["flat", "V-guided"]
width = "60 mm..600 mm"
thickness = "0.8..3 mm"
last_check = "2026-06-15"
check_days = 180
note = "left rail stiff"

[[template]]
name = "Jig"
splice_type = "overlap"
"""

INVENTORY_TABLE = """\
kind;name;platen_width;splice_type;finger_length;guide_profiles;width;last_check;check_days
press;Press 2;650 mm;;;;;2026-09-01;365

template;T30-10;;finger;30 mm;flat/V-guided;60 mm..600 mm;2026-06-15;180
"""

CONVEYORS = """\
[[conveyor]]
customer = "Larkfield Bakery"
site = "Packing hall 2"
name = "Oven outfeed 3"
belt_material = "TPU CV-120A"
belt_thickness = "2 mm"
belt_width = "450 mm"
guide_profile = "flat"
splice_type = "finger"
finger_length = "30 mm"
finger_pitch = "10 mm"
pulley_1 = "120 mm"
pulley_2 = "80 mm"
centres = "4.25 m"
press = "Press 2"
template = "T30-10"
note = "narrow gangway"

[[conveyor]]
customer = "Veldt Sugar"
name = "Oven outfeed 3"
"""

CONVEYOR_TABLE = """\
customer,site,name,belt_width,pulley_1,pulley_2,centres,note
Larkfield Bakery,Packing hall 2,Oven outfeed 3,18 in,120 mm,80 mm,"4,25 m","says ""slow"" on it"
Larkfield Bakery,,Slicer infeed,,,,,
"""


def written(folder: Path, name: str, content: str | bytes) -> Path:
    path = folder / name
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return path
