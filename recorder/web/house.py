"""What every page and socket works with: one frozen value, made when the server starts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from recorder.archive.disk.home import Home
from recorder.report.identity.identity import Identity
from recorder.settings import Settings

if TYPE_CHECKING:
    from recorder.flows.live.sessions import Sessions
    from recorder.web.access.access import Access


@dataclass(frozen=True)
class House:
    """key: unlocked to sign reports, None where there is none. sessions: the live ones.
    access: who may enter.
    """

    home: Home
    settings: Settings
    key: Identity | None
    sessions: Sessions
    access: Access
