"""Who may enter: devices that were paired here by an invitation, until they are revoked.

An invitation is a random token that is worth one pairing within five minutes. A paired device holds
a secret of its own in a cookie; it goes when the device was not seen for 30 days, and 180 days
after the pairing in any case.
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from starlette.types import Scope

from recorder.archive.disk.home import Home
from recorder.errors import (
    Busy,
    InviteRefused,
    OutputUnwritable,
    SeamnoteError,
    TooManyDevices,
    UnknownDevice,
)
from recorder.web.access import secret as secrets
from recorder.web.access.devices import (
    LONGEST_NAME,
    MOST_DEVICES,
    MOST_INVITES,
    Book,
    Device,
    Devices,
    Invite,
)
from recorder.web.access.guesses import Guesses
from recorder.web.access.places import Places
from recorder.web.access.refusals import Refusals

INVITED_FOR = timedelta(minutes=5)
IDLE = timedelta(days=30)
LONGEST = timedelta(days=180)
_CLOCK_SLACK = timedelta(minutes=1)  # by which a clock may be corrected backwards
_SEEN_AGAIN = timedelta(hours=1)  # how exactly the file tells when a device was last seen

Tell = Callable[[str], None]


@dataclass(frozen=True)
class Guide:
    """Where a phone learns to trust this machine. address: of the guide. fingerprint: SHA-256 of
    the local authority, in hex.
    """

    address: str
    fingerprint: str

    @property
    def spaced(self) -> str:
        """In groups of four, which people can compare."""
        return " ".join(self.fingerprint[at : at + 4] for at in range(0, 64, 4)).upper()


def _silently(line: str) -> None:
    pass


def _now() -> datetime:
    return datetime.now(UTC)


class Access:
    def __init__(
        self,
        home: Home,
        places: Places,
        tell: Tell = _silently,
        now: Callable[[], datetime] = _now,
    ) -> None:
        """tell: hears in one line of pairing, revoking and refusals; never a secret."""
        self.places = places
        self.guide: Guide | None = None
        self.tell = tell
        self.told = Refusals(tell)
        self.guesses = Guesses()
        self.store = Devices(home.root)
        self._now = now

    @property
    def cookie(self) -> str:
        """Its name. A cookie goes to every port of a machine, and another home may be served at
        another one, so that the port stands in it; '__Host-' keeps others from setting it.
        """
        return f"__Host-seamnote-{self.places.port}"

    def device_of(self, scope: Scope) -> Device | None:
        """The paired device that a request comes from. DevicesDamaged."""
        held = self.secret_of(scope)
        found = self._holder(self.store.book(), held) if held else None
        if found and self._now() - found.last_seen >= _SEEN_AGAIN:
            with contextlib.suppress(Busy, OutputUnwritable):  # it matters little, and nobody waits
                self.store.change(lambda book: _seen(book, found.number, self._now()), wait_s=0)
        return found

    def secret_of(self, scope: Scope) -> str:
        """What its cookie holds, '' without one.

        Cut at each ';' and no further read: what other programs of this machine left beside it, by
        whatever rules, must not hide it (RFC 6265, 5.4 is how browsers write the header).
        """
        for name, value in scope["headers"]:
            if name == b"cookie":
                pairs = (pair.strip().partition("=") for pair in str(value, "latin-1").split(";"))
                for found, _, held in pairs:
                    if found == self.cookie:
                        return held
        return ""

    def still(self, device: Device) -> bool:
        """Whether a device that entered may stay."""
        try:
            return any(each.number == device.number for each in self.devices())
        except SeamnoteError:
            return False

    def devices(self) -> tuple[Device, ...]:
        now = self._now()
        return tuple(each for each in self.store.book().devices if not _over(each, now))

    def invite(self) -> str:
        """A token that pairs one device. Raises Busy, OutputUnwritable, DevicesDamaged."""
        token, now = secrets.new(), self._now()
        made = Invite(digest=secrets.digest(token), until=now + INVITED_FOR)

        def change(book: Book) -> Book:
            open_yet = [each for each in book.invites if _open(each, now)]
            return book.model_copy(update={"invites": (*open_yet[1 - MOST_INVITES :], made)})

        self.store.change(change)
        return token

    def pair(self, token: str, name: str, browser: str, held: str = "") -> tuple[Device, str]:
        """A device for an invitation, which is then used up; and the device's secret.

        held: the secret of a device that pairs itself anew, which the new one replaces.
        Raises InviteRefused, TooManyDevices.
        """
        now, own = self._now(), secrets.new()
        wanted = secrets.digest(secrets.tidy(token))

        def change(book: Book) -> Book:
            fits = [i for i in book.invites if secrets.same(i.digest, wanted) and _open(i, now)]
            if not fits:
                raise InviteRefused()
            before = self._holder(book, held) if held else None
            stay = [d for d in book.devices if d != before and not _over(d, now)]
            if len(stay) >= MOST_DEVICES:
                raise TooManyDevices(most=MOST_DEVICES)
            made = Device(
                number=book.next, name=plain(name, LONGEST_NAME) or "device", browser=browser,
                digest=secrets.digest(own), first_seen=now, last_seen=now,
            )  # fmt: skip
            open_yet = tuple(i for i in book.invites if i not in fits and _open(i, now))
            return Book(next=book.next + 1, devices=(*stay, made), invites=open_yet)

        made = self.store.change(change).devices[-1]
        self.tell(f"paired device {made.number}")
        return made, own

    def revoke(self, number: int) -> Device:
        """From now on the device may not enter, and what it has open closes. UnknownDevice."""
        gone: list[Device] = []

        def change(book: Book) -> Book:
            gone.extend(each for each in book.devices if each.number == number)
            stay = tuple(each for each in book.devices if each.number != number)
            return book.model_copy(update={"devices": stay})

        self.store.change(change)
        if not gone:
            raise UnknownDevice(number=number)
        self.tell(f"revoked device {number}")
        return gone[0]

    def _holder(self, book: Book, held: str) -> Device | None:
        """All are compared, so that the time does not tell which."""
        wanted, now = secrets.digest(held), self._now()
        fits = [each for each in book.devices if secrets.same(each.digest, wanted)]
        return fits[0] if fits and not _over(fits[0], now) else None


def _open(invite: Invite, now: datetime) -> bool:
    """One that seems to be made in time to come is none: the clock was set back since."""
    return now < invite.until <= now + INVITED_FOR + _CLOCK_SLACK


def _over(device: Device, now: datetime) -> bool:
    return now - device.last_seen > IDLE or now - device.first_seen > LONGEST


def _seen(book: Book, number: int, now: datetime) -> Book:
    seen = tuple(
        each.model_copy(update={"last_seen": now}) if each.number == number else each
        for each in book.devices
    )
    return book.model_copy(update={"devices": seen})


def plain(text: str, longest: int) -> str:
    """A stranger's text in one line, without what cannot be seen."""
    visible = "".join(char if char.isprintable() else " " for char in text[: 4 * longest])
    return " ".join(visible.split())[:longest].strip()
