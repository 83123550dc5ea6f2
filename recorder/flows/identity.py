"""Who signs here: keys made, issued, renewed, opened; the firm's authority shown to customers."""

from __future__ import annotations

import getpass
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

from recorder.archive.home import Home
from recorder.errors import IdentityUnfit
from recorder.model.job import Job, in_force
from recorder.report.identity import authority, identity, keyfile, passphrase
from recorder.report.identity.authority import Authority
from recorder.report.identity.certificates import Certificate
from recorder.report.identity.identity import Identity
from recorder.settings import Settings

KEY_FILE = "signer.p12"
AUTHORITY_FILE = authority.FILE
REQUEST_FILE = "request.p12"
WARN_BEFORE = timedelta(days=60)  # of the end of a certificate: a season's jobs are planned by then

RENEW = "run 'seamnote identity renew'"
ASK_OFFICE = "run 'seamnote identity request FILE' and have your office issue it"

Ask = Callable[[str], str] | None
Tell = Callable[[str], None]


def _silently(line: str) -> None:
    pass


def signer(home: Home, job: Job, settings: Settings, ask: Ask, tell: Tell = _silently) -> Identity:
    """The identity that signs in this home: the firm's own, or one that is made on first use.

    A new one bears the technician's name from the settings, else from the job, else the user's; so
    does an authority of the firm, which is made with it. A key of an earlier version, which
    vouches for itself, is replaced by one with the same name from a new authority.
    tell: hears in one line what was made or replaced, and of an end that is near.
    Raises PassphraseMissing or -Wrong, IdentityUnusable, IdentityUnfit and OutputUnwritable.
    """
    path = home.identity / KEY_FILE
    if path.exists():
        found = _opened(home, path, ask, tell)
    else:
        found = _first(home, path, name_of(job, settings), settings, ask, tell)
    now = datetime.now(UTC)
    mend = RENEW if (home.identity / AUTHORITY_FILE).exists() else ASK_OFFICE
    identity.require_fit(found, path, now, mend)
    left = found.certificate.not_after - now
    if left < WARN_BEFORE:
        tell(f"the certificate of {found.common_name} ends in {left.days} days; {mend}")
    return found


def name_of(job: Job | None, settings: Settings) -> str:
    """Of the technician: from the settings, else from the job, else the user's."""
    told = in_force(job.readings).get("technician") if job else None
    return settings.report.technician or (str(told.value) if told else _user())


def known(home: Home) -> tuple[Certificate, ...]:
    """The certificates that this home knows: authorities, and signers by themselves."""
    return identity.known_certificates(home.identity)


def unreadable(home: Home) -> tuple[str, ...]:
    """Names of the files among these that hold no certificate."""
    return tuple(bad.name for bad in identity.unreadable(home.identity))


def _first(home: Home, path: Path, name: str, settings: Settings, ask: Ask, tell: Tell) -> Identity:
    """The first key of a home, by its authority; both under one passphrase where both are new."""
    waiting = home.identity / REQUEST_FILE
    if waiting.exists():
        raise IdentityUnfit(
            path=waiting,
            detail="its certificate has not come yet",
            mend="take it from your office with 'seamnote identity install FILE'",
        )
    place = home.identity / AUTHORITY_FILE
    if place.exists():
        above = _open_authority(place, ask)
        secret = passphrase.obtain(path, ask, creating=True)
        return identity.issue(path, secret, above, name, settings.identity.email)
    secret = passphrase.obtain(path, ask, creating=True)
    made = identity.create(
        path, secret, name, settings.report.firm or name, email=settings.identity.email
    )
    passphrase.share(path, place)
    tell(
        f"made a signing key for {made.common_name} and an authority of the firm for it; back up "
        f"{home.identity}, and give customers the file of 'seamnote identity export FILE'"
    )
    return made


def _opened(home: Home, path: Path, ask: Ask, tell: Tell) -> Identity:
    secret = passphrase.obtain(
        path, ask, creating=False, opens=lambda typed: identity.opens(path, typed)
    )
    found = identity.load(path, secret, known(home))
    if not found.certificate.self_issued:
        return found
    old = found.certificate
    above = _authority(home, old, secret, ask)
    made = identity.issue(path, secret, above, old.common_name, old.email)
    tell(
        f"the self-signed key of {old.common_name} was replaced by one that an authority of the "
        "firm vouches for; earlier reports stay verifiable, and customers need the file of "
        "'seamnote identity export FILE'"
    )
    return made


def _authority(home: Home, old: Certificate, secret: str, ask: Ask) -> Authority:
    """The authority of this home, made when there is none, under the signing key's passphrase."""
    place = home.identity / AUTHORITY_FILE
    if not place.exists():
        made = authority.create(place, secret, old.organization or old.common_name, old.demo)
        passphrase.share(home.identity / KEY_FILE, place)
        return made
    if keyfile.opens(place, secret):
        return authority.load(place, secret)
    return _open_authority(place, ask)


def _open_authority(place: Path, ask: Ask) -> Authority:
    secret = passphrase.obtain(
        place,
        ask,
        creating=False,
        opens=lambda typed: keyfile.opens(place, typed),
        variables=(passphrase.AUTHORITY_VARIABLE, passphrase.VARIABLE),
    )
    return authority.load(place, secret)


def _user() -> str:
    try:
        return getpass.getuser()
    except (KeyError, OSError):  # a user id without a name
        return "technician"
