"""The lists of an invented firm, and drafts of its job cards."""

from datetime import date

from recorder.archive.disk.home import Home
from recorder.flows.knowhow import preparing, sources
from recorder.flows.knowhow.drafting import Draft, Origin, Source
from recorder.settings import ReportSettings, Settings

SETTINGS = Settings(report=ReportSettings(firm="Quillback Belt Service"))
TODAY = date(2026, 11, 26)
INVENTORY = """
[[press]]
name = "P 600"
last_check = "2026-01-10"
check_days = 180
[[template]]
name = "T30-10"
splice_type = "finger"
finger_length = "30 mm"
finger_pitch = "10 mm"
width = "20 mm..300 mm"
[[template]]
name = "T80-20"
splice_type = "finger"
finger_length = "80 mm"
finger_pitch = "20 mm"
"""
CONVEYORS = """
[[conveyor]]
customer = "Larkfield Bakery"
site = "Packing hall 2"
name = "Oven outfeed 3"
belt_width = "80 mm"
belt_thickness = "2 mm"
pulley_1 = "250 mm"
pulley_2 = "200 mm"
centres = "4.2 m"
press = "P 600"
"""


def begin(home: Home, *taken_from: Source, **values: str) -> Draft:
    return preparing.begin(home, SETTINGS, taken_from, values, today=TODAY)


def job(name: str = "last") -> Source:
    return Source(kind=Origin.JOB, name=name)


def whence(draft: Draft) -> dict[str, str]:
    return {each.reading.field: each.whence for each in (*draft.used, *draft.asked)}


def said(text: str) -> Source:
    return sources.said(text, SETTINGS)
