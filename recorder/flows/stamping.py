"""A time stamp for a signature, where the settings name an authority and it can be reached."""

from __future__ import annotations

from recorder.report.signing.revision import Stamp
from recorder.report.signing.stamp import NoStamp, stamped
from recorder.report.verifying import stamp as judging
from recorder.settings import ReportSettings


class Stamping:
    """Asks the authority of the settings; where it cannot be reached the signature goes without.

    missed: why a wanted stamp is missing, in one line for a person; empty when it is there.
    """

    def __init__(self, settings: ReportSettings) -> None:
        self._url = settings.timestamp_url
        self.missed = ""

    @property
    def stamp(self) -> Stamp | None:
        return self._ask if self._url else None

    def _ask(self, signature_value: bytes) -> bytes:
        try:
            token = stamped(self._url, signature_value)
            judging.read(token, signature_value)  # a stamp that fails later is worse than none
        except (NoStamp, ValueError) as error:
            self.missed = (
                f"no time stamp from {self._url} ({error}); the signature stands with the time of "
                "this device's clock"
            )
            return b""
        return token
