"""A second held-out list, in the spelling of a recogniser; scored once the grammar stood."""

from __future__ import annotations

HELD_OUT: tuple[tuple[str, dict[str, bool | float | str]], ...] = (
    (
        "Alright, job number 5 3 3 1, customer Millpond Confectionery.",
        {"job_number": "5331", "customer": "Millpond Confectionery"},
    ),
    ("lockout done and isolation confirmed", {"isolation_confirmed": True}),
    ("I measured the belt width at 1 inch and 3 quarters", {"belt_width": 44.45}),
    (
        "belt width is 450 millimeters and the thickness is 3.2 millimeters",
        {"belt_width": 450.0, "belt_thickness": 3.2},
    ),
    ("Pressure is on 1.8 bar.", {"pressure": 1.8}),
    ("we are at twenty six PSI pressure", {"pressure": 1.792637}),
    (
        "pressure thirty kilopascals, no sorry, two hundred and thirty kilopascals",
        {"pressure": 2.3},
    ),
    ("Top platen 1 81 degrees Celsius.", {"top_temperature": 181.0}),
    ("The top platen has reached 176 degrees C.", {"top_temperature": 176.0}),
    (
        "Top plate one seven nine, bottom plate one seven seven, both Celsius.",
        {"top_temperature": 179.0, "bottom_temperature": 177.0},
    ),
    (
        "Both heating plates at 340 Fahrenheit.",
        {"top_temperature": 171.1111, "bottom_temperature": 171.1111},
    ),
    (
        "Top and bottom platens one seventy and one sixty six Celsius.",
        {"top_temperature": 170.0, "bottom_temperature": 166.0},
    ),
    ("Dwell is four minutes fifteen seconds.", {"dwell_time": 255.0}),
    ("Held the pressing time for 200 seconds", {"dwell_time": 200.0}),
    ("a three minute dwell", {"dwell_time": 180.0}),
    ("Dwell time quarter of an hour.", {"dwell_time": 900.0}),
    ("Cooling down to forty five degrees now.", {"cool_down_temperature": 45.0}),
    ("cool-down temperature 122 °F", {"cool_down_temperature": 50.0}),
    ("Full cycle 14 minutes 20 seconds.", {"cycle_time": 860.0}),
    ("cycle time was about thirteen and a half minutes", {"cycle_time": 810.0}),
    ("No blisters, no open fingers.", {"bubbles": False}),
    ("One bubble at the left edge, about a millimetre.", {"bubbles": True}),
    ("Bubbles: none. Outcome: accepted.", {"bubbles": False, "outcome": "accepted"}),
    ("I'm rejecting nothing today, the splice is accepted.", {"outcome": "accepted"}),
    ("The splice has failed the bend test.", {"outcome": "rejected"}),
    ("Splice should be reworked tomorrow if it opens.", {}),
    (
        "Bottom platen one hundred seventy two, wait, one hundred sixty two Celsius.",
        {"bottom_temperature": 162.0},
    ),
    ("Pressure 2.4 bar. Actually 2.3 bar.", {"pressure": 2.3}),
    (
        "Top platen 169 Celsius. Correction, bottom platen 169 Celsius.",
        {"bottom_temperature": 169.0, "top_temperature": 169.0},
    ),
    ("Dwell three minutes, make that two hundred seconds.", {"dwell_time": 200.0}),
    ("The old belt was 2.5 millimetres thick.", {}),
    ("Usually we take 175 degrees on the top platen here.", {}),
    ("The platens differ by three degrees.", {}),
    ("Never go above 190 degrees on the top platen.", {}),
    ("The gearbox ran at 60 degrees Celsius.", {}),
    ("We waited five minutes for the key.", {}),
    ("A new belt takes about two hours.", {}),
    ("Next service in 6 weeks.", {}),
    ("Pressure now 2.6 bar instead of 2.2 bar.", {"pressure": 2.6}),
    (
        "The top platen dropped to 150 degrees Celsius during the dwell.",
        {"d:top_temperature": 150.0},
    ),
    (
        "finger pitch ten and finger length thirty millimetres",
        {"finger_pitch": 10.0, "finger_length": 30.0},
    ),
    ("Room temperature is twenty one degrees.", {"ambient_temperature": 21.0}),
    ("Pre-heat 45 s at 110 °C", {"preheat_time": 45.0, "preheat_temperature": 110.0}),
    ("Template T25-8, press P1.", {"template": "T25-8", "press": "P1"}),
)
