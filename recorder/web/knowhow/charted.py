"""What an address asks to be charted, and back: pages and pictures have the same."""

from __future__ import annotations

from datetime import datetime
from urllib.parse import urlencode

from starlette.datastructures import QueryParams

from recorder.errors import BadValue
from recorder.flows.moments import stretch
from recorder.knowhow.trends.chart import Characteristic
from recorder.model.base import Value
from recorder.model.past import SETTINGS, STREAMS

ALL = "all"
_LONGEST = 200


class Charted(Value):
    """stream, name: whose jobs; 'all' and '' for every job. since, until: as they were typed.
    field: the setting that is held against the gap. chosen: whether the address names any.
    """

    characteristic: Characteristic = Characteristic.FINGER_GAP
    stream: str = ALL
    name: str = ""
    since: str = ""
    until: str = ""
    field: str = "top_temperature"
    chosen: bool = False

    @property
    def of(self) -> str:
        """Stream and name in one, as the form has them."""
        return f"{self.stream}:{self.name}" if self.stream != ALL else ALL

    def times(self) -> tuple[datetime | None, datetime | None]:
        """From when and until when. Raises BadValue."""
        since = stretch(self.since, "since")[0] if self.since else None
        until = stretch(self.until, "until")[1] if self.until else None
        if since and until and since >= until:
            raise BadValue(value=self.until, field="until", hint="give a day after 'since'")
        return since, until

    def address(self, path: str = "/trends") -> str:
        told = {
            "characteristic": self.characteristic.value, "of": self.of, "since": self.since,
            "until": self.until, "field": self.field,
        }  # fmt: skip
        return f"{path}?{urlencode({name: text for name, text in told.items() if text})}"


def charted_of(query: QueryParams) -> Charted:
    """Raises BadValue for what cannot be charted."""
    stream, _, name = query.get("of", "")[:_LONGEST].strip().partition(":")
    wanted = query.get("characteristic", "").strip()
    field = query.get("field", "").strip() or "top_temperature"
    if wanted and wanted not in list(Characteristic):
        hint = f"choose one of {', '.join(Characteristic)}"
        raise BadValue(value=wanted[:_LONGEST], field="what is charted", hint=hint)
    if stream not in (*STREAMS, ALL, ""):
        hint = f"choose one of {', '.join((*STREAMS, ALL))}"
        raise BadValue(value=stream, field="whose jobs are charted", hint=hint)
    if field not in SETTINGS:
        hint = f"choose one of {', '.join(SETTINGS)}"
        raise BadValue(value=field[:_LONGEST], field="a setting", hint=hint)
    return Charted(
        characteristic=Characteristic(wanted or Characteristic.FINGER_GAP),
        stream=stream or ALL,
        name=name.strip() if stream != ALL else "",
        since=query.get("since", "")[:_LONGEST].strip(),
        until=query.get("until", "")[:_LONGEST].strip(),
        field=field,
        chosen="of" in query or "characteristic" in query,
    )
