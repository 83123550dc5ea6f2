"""Sentences written before the grammar and not used while it was made; see test_held_out.

Each row: what was written, and the fields that it states in canonical units. A field that is not
listed must not be read. 'd:' before a field name says that asking about it is the right answer.
"""

from __future__ import annotations

HELD_OUT: tuple[tuple[str, dict[str, bool | float | str]], ...] = (
    ("We ran it at two and a half bar.", {"d:pressure": 2.5}),
    ("Pressure's at twenty-nine psi today.", {"pressure": 1.99948}),
    ("Press pressure 210 kPa, dwell 4 minutes.", {"pressure": 2.1, "dwell_time": 240.0}),
    ("Top plate at one eighty-two Celsius.", {"top_temperature": 182.0}),
    (
        "Upper platen one seven four degrees, lower platen one six nine degrees.",
        {"top_temperature": 174.0, "bottom_temperature": 169.0},
    ),
    (
        "Both platens one hundred sixty-five.",
        {"top_temperature": 165.0, "bottom_temperature": 165.0},
    ),
    (
        "173 top and 167 bottom, degrees Celsius.",
        {"top_temperature": 173.0, "bottom_temperature": 167.0},
    ),
    (
        "Top and bottom at 347 degrees Fahrenheit.",
        {"top_temperature": 175.0, "bottom_temperature": 175.0},
    ),
    ("I held it for three and a half minutes dwell.", {"dwell_time": 210.0}),
    ("Dwell was two minutes and forty seconds.", {"dwell_time": 160.0}),
    ("Dwell time 3:15.", {"dwell_time": 195.0}),
    ("Soak time a hundred and ninety seconds.", {"dwell_time": 190.0}),
    ("Cooled down to 48 degrees C before opening.", {"cool_down_temperature": 48.0}),
    ("Opened the press once it cooled to sixty one Celsius.", {"cool_down_temperature": 61.0}),
    ("The whole cycle took twelve minutes.", {"cycle_time": 720.0}),
    ("Total cycle time eleven minutes thirty.", {"cycle_time": 690.0}),
    (
        "The belt is eighty millimetres wide and three thick.",
        {"belt_width": 80.0, "d:belt_thickness": 3.0},
    ),
    (
        "Belt width four inches, thickness an eighth of an inch.",
        {"belt_width": 101.6, "belt_thickness": 3.175},
    ),
    ("It's a 120 mm belt, 2.5 mm thick.", {"belt_width": 120.0, "belt_thickness": 2.5}),
    ("Width: 1,250 mm", {"belt_width": 1250.0}),
    ("Job 5-2-0-9, customer is Harrow Pies.", {"job_number": "5209", "customer": "Harrow Pies"}),
    ("Job number fifty-two oh nine.", {"job_number": "5209"}),
    (
        "This is job number 6 1 0 2 for Tidewell Laundry.",
        {"job_number": "6102", "customer": "Tidewell Laundry"},
    ),
    ("The conveyor is isolated and locked out.", {"isolation_confirmed": True}),
    ("Isolation is not confirmed yet.", {"isolation_confirmed": False}),
    ("I can't see any bubbles.", {"bubbles": False}),
    ("There are three small bubbles near the right edge.", {"bubbles": True}),
    ("Free of bubbles, splice accepted.", {"bubbles": False, "outcome": "accepted"}),
    ("This one needs rework.", {"outcome": "rework"}),
    ("Splice is no good, rejected.", {"outcome": "rejected"}),
    ("Pressure two bar, correction, two point two bar.", {"pressure": 2.2}),
    ("Bottom platen 170 Celsius. Sorry, 168.", {"bottom_temperature": 168.0}),
    ("Dwell three minutes. I meant four minutes.", {"dwell_time": 240.0}),
    ("Top platen one eighty Celsius, scratch that, one seventy eight.", {"top_temperature": 178.0}),
    ("Ten minutes ago the top platen was at one forty.", {}),
    ("The top platen runs five degrees above the bottom.", {}),
    ("Last time we used two bar and 170 degrees on top.", {}),
    ("The recipe asks for 172 degrees on the top platen.", {}),
    ("Two fingers are open near the left edge.", {}),
    ("Check for bubbles after it cools.", {}),
    ("Give the motor ten minutes before starting.", {}),
    ("Wait until the top platen reaches 170 degrees.", {}),
    (
        "Top platen one seventy one and the same for the bottom.",
        {"top_temperature": 171.0, "bottom_temperature": 171.0},
    ),
    (
        "Finger length thirty millimetres, pitch ten millimetres.",
        {"finger_length": 30.0, "finger_pitch": 10.0},
    ),
    ("Ambient is nineteen degrees Celsius.", {"ambient_temperature": 19.0}),
    ("Preheat forty seconds at 120 Celsius.", {"preheat_time": 40.0, "preheat_temperature": 120.0}),
    ("Raised the pressure from 1.8 bar to 2.1 bar.", {"pressure": 2.1}),
    (
        "Supply is one hundred and ten volts, fifteen amps.",
        {"supply_voltage": 110.0, "supply_current": 15.0},
    ),
)
