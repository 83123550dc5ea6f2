"""Who signs in this home: a key that was made here, asked for at an office, or the firm's own."""

from __future__ import annotations

import getpass
from collections.abc import Callable
from contextlib import AbstractContextManager
from datetime import UTC, datetime, timedelta
from pathlib import Path

from recorder.archive.disk import lock
from recorder.archive.disk.home import Home
from recorder.errors import (
    BadCertificate,
    FileMissing,
    IdentityUnfit,
    OutputUnwritable,
)
from recorder.inputs import read_whole
from recorder.model.job import Job, in_force
from recorder.report.identity import authority, identity, keyfile, passphrase, request, tokens
from recorder.report.identity.authority import Authority
from recorder.report.identity.certificates import Certificate
from recorder.report.identity.identity import Identity
from recorder.report.identity.request import Request
from recorder.settings import IdentitySettings, Settings, TokenSettings

KEY_FILE = "signer.p12"
AUTHORITY_FILE = authority.FILE
REQUEST_FILE = "request.p12"
FIRM_FILE = "firm.p12"  # after which the certificates of the firm's own key are named
LARGEST_BYTES = 1_000_000  # of certificates and requests that come from others
WARN_BEFORE = timedelta(days=60)  # time to reach the office, or the customers

RENEW = "run 'seamnote identity renew'"
ASK_OFFICE = "run 'seamnote identity request FILE' and have your office issue it"
ASK_ISSUER = "have its issuer renew it"

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
    return _signer(home, name_of(job, settings), settings, ask, tell)


def signer_of_jobs_to_come(home: Home, settings: Settings, ask: Ask, tell: Tell) -> Identity:
    """The same before there is a job: a new one bears the name from the settings, else the
    user's. Raises like ``signer``.
    """
    return _signer(home, settings.report.technician or _user(), settings, ask, tell)


def _signer(home: Home, name: str, settings: Settings, ask: Ask, tell: Tell) -> Identity:
    found, path, mend = _found(home, name, settings, ask, tell)
    now = datetime.now(UTC)
    identity.require_fit(found, path, now, mend)
    left = found.certificate.not_after - now
    if left < WARN_BEFORE:
        tell(f"the certificate of {found.common_name} ends in {left.days} days; {mend}")
    return found


def create(home: Home, ask: Ask, name: str, firm: str, email: str) -> Identity:
    """Make the signing key of this home before its first report. Raises like ``signer``."""
    path = home.identity / KEY_FILE
    with alone(home):
        if path.exists():
            raise IdentityUnfit(path=path, detail="it is there already", mend=RENEW)
        return _first(home, path, name, firm, email, ask)


def renew(home: Home, settings: Settings, ask: Ask, name: str, email: str) -> Identity:
    """A new key and certificate, by the authority that lies here.

    name, email: empty for those in the certificate before, which stays known.
    Raises like ``signer``, and IdentityUnfit where the authority lies on another machine.
    """
    _require_own(settings.identity)
    path = home.identity / KEY_FILE
    if not path.exists():
        mend = "run 'seamnote identity create'"
        raise IdentityUnfit(path=path, detail="there is none", mend=mend)
    secret = _secret(home, ask)
    old = identity.load(path, secret, known(home)).certificate
    if not old.self_issued and not (home.identity / AUTHORITY_FILE).exists():
        raise IdentityUnfit(path=path, detail="its authority is elsewhere", mend=ASK_OFFICE)
    with alone(home):
        above = _authority(home, old, secret, ask)
        return identity.issue(path, secret, above, name or old.common_name, email or old.email)


def ask_office(
    home: Home, settings: Settings, ask: Ask, name: str, email: str, path: Path
) -> Request:
    """Write a request for a certificate to ``path``, for a key that waits here for the answer.

    The key in use signs until then. name: empty for that of the key in use.
    Raises like ``signer``, and BadValue for an unusable name.
    """
    _require_own(settings.identity)
    require_free(path)
    key = home.identity / KEY_FILE
    if not key.exists():
        identity.require_names(name, email)
    secret = _secret(home, ask)
    if key.exists():
        old = identity.load(key, secret, known(home)).certificate
        name, email = name or old.common_name, email or old.email
    with alone(home):
        content = request.write(home.identity / REQUEST_FILE, secret, name, email)
    write_out(path, content)
    return request.parse(content, path)


def install(home: Home, answer: Path, ask: Ask) -> Identity:
    """Take the office's answer: the waiting key becomes the signing key, its authority known.

    Raises BadCertificate, PassphraseMissing or -Wrong, and OutputUnwritable.
    """
    waiting = home.identity / REQUEST_FILE
    if not waiting.exists():
        detail, mend = "no key waits here for it", "run 'seamnote identity request FILE' first"
        raise BadCertificate(path=answer, detail=detail, mend=mend)
    content = read_whole(answer, LARGEST_BYTES)
    secret = _secret(home, ask, waiting)
    found = request.answered(waiting, secret, content, answer)
    top = Certificate.from_der(found.chain[-1])
    place = home.identity / AUTHORITY_FILE
    if place.exists() and not authority.pem_path(place, top).exists():
        keyfile.set_aside(place)  # the firm has one authority, and from now on it is the office's
        place.unlink()
    path = home.identity / KEY_FILE
    made = identity.keep(path, secret, found.key, found.certificate, found.chain)
    _remember(home, made, KEY_FILE)
    waiting.unlink()
    return made


def open_authority(home: Home, ask: Ask) -> Authority:
    """The authority that lies here. Raises IdentityUnfit, PassphraseMissing or -Wrong."""
    place = home.identity / AUTHORITY_FILE
    if not place.exists():
        mend = "do this where it lies, or make one with 'seamnote identity create'"
        raise IdentityUnfit(path=place, detail="the authority is not in this home", mend=mend)
    secret = passphrase.obtain(
        place,
        ask,
        creating=False,
        opens=lambda typed: keyfile.opens(place, typed),
        variables=(passphrase.AUTHORITY_VARIABLE, passphrase.VARIABLE),
    )
    return authority.load(place, secret)


def name_of(job: Job, settings: Settings) -> str:
    """Of the technician: from the settings, else from the job, else the user's."""
    told = in_force(job.readings).get("technician")
    return settings.report.technician or (str(told.value) if told else _user())


def known(home: Home) -> tuple[Certificate, ...]:
    """The certificates that this home knows: authorities, and signers by themselves."""
    return identity.known_certificates(home.identity)


def unreadable(home: Home) -> tuple[str, ...]:
    """Names of the files among these that hold no certificate."""
    return tuple(bad.name for bad in identity.unreadable(home.identity))


def alone(home: Home) -> AbstractContextManager[None]:
    """While keys are made in this home: of two processes at once each would be told of its own,
    and one key would be lost. Raises Busy, OutputUnwritable.
    """
    return lock.held(home.identity / KEY_FILE)


def require_free(path: Path) -> None:
    """Raises OutputUnwritable when something is there already, or no folder to hold it."""
    if not path.parent.is_dir():
        raise OutputUnwritable(path=path, detail="there is no such folder")
    if path.exists():
        raise OutputUnwritable(path=path, detail="a file is there already")


def write_out(path: Path, content: bytes) -> None:
    """Write a file for others. Raises OutputUnwritable."""
    try:
        path.write_bytes(content)
    except OSError as error:
        raise OutputUnwritable(path=path, detail=error.strerror or str(error)) from error


def _found(
    home: Home, name: str, settings: Settings, ask: Ask, tell: Tell
) -> tuple[Identity, Path, str]:
    """The identity, where its key lies, and what to do when its time is over."""
    if settings.identity.pkcs11:
        return _on_token(home, settings.identity.pkcs11, ask)
    if settings.identity.pkcs12:
        return _own(home, settings.identity.pkcs12, ask)
    path = home.identity / KEY_FILE
    found = None if path.exists() else _made(home, path, name, settings, ask, tell)
    found = found or _opened(home, path, ask, tell)
    mend = RENEW if (home.identity / AUTHORITY_FILE).exists() else ASK_OFFICE
    return found, path, mend


def _made(
    home: Home, path: Path, name: str, settings: Settings, ask: Ask, tell: Tell
) -> Identity | None:
    """The first key; None where another process has made one meanwhile."""
    with alone(home):
        if path.exists():
            return None
        made = _first(home, path, name, settings.report.firm, settings.identity.email, ask)
    tell(
        f"made a signing key for {made.common_name} and an authority of "
        f"{made.organization} that vouches for it; the README, 'Who signs', says how to "
        "give that to customers and how to sign in another name"
    )
    return made


def _first(home: Home, path: Path, name: str, firm: str, email: str, ask: Ask) -> Identity:
    """The first key of a home, by its authority; both under one passphrase where both are new."""
    waiting = home.identity / REQUEST_FILE
    if waiting.exists():
        mend = "take it from your office with 'seamnote identity install FILE'"
        raise IdentityUnfit(path=waiting, detail="its certificate has not come yet", mend=mend)
    identity.require_names(name, email)
    place = home.identity / AUTHORITY_FILE
    if place.exists():
        above = open_authority(home, ask)
        secret = passphrase.obtain(path, ask, creating=True)
        return identity.issue(path, secret, above, name, email)
    secret = passphrase.obtain(path, ask, creating=True)
    made = identity.create(path, secret, name, firm, email=email)
    passphrase.share(path, place, secret)
    return made


def _opened(home: Home, path: Path, ask: Ask, tell: Tell) -> Identity:
    secret = _secret(home, ask)
    found = identity.load(path, secret, known(home))
    if not found.certificate.self_issued:
        return found
    with alone(home):
        found = identity.load(path, secret, known(home))
        if not found.certificate.self_issued:  # another process has replaced it meanwhile
            return found
        old = found.certificate
        above = _authority(home, old, secret, ask)
        made = identity.issue(path, secret, above, old.common_name, old.email)
    tell(
        f"the self-signed key of {old.common_name} was replaced by one that an authority of "
        f"{made.organization} vouches for; earlier reports stay verifiable, and customers need "
        "the file that 'seamnote identity export FILE' writes"
    )
    return made


def _own(home: Home, named: Path, ask: Ask) -> tuple[Identity, Path, str]:
    """The firm's own PKCS#12 file, whose authority this home then knows."""
    path = home.root / named.expanduser()
    if not path.is_file():
        raise FileMissing(path=path)
    secret = passphrase.obtain(path, ask, False, lambda typed: identity.opens(path, typed))
    found = identity.load(path, secret, known(home))
    _remember(home, found, FIRM_FILE)
    return found, path, ASK_ISSUER


def _on_token(home: Home, settings: TokenSettings, ask: Ask) -> tuple[Identity, Path, str]:
    """The key on the firm's token, whose authority this home then knows."""
    called = tokens.name(settings)
    found = tokens.load(settings, passphrase.obtain(called, ask, creating=False), known(home))
    _remember(home, found, FIRM_FILE)
    return found, Path(called), ASK_ISSUER


def _remember(home: Home, found: Identity, key: str) -> None:
    """Know the signer, and the authority at the top of its chain."""
    known_here = {certificate.der for certificate in known(home)}
    named = [(key, found.certificate)]
    named += [(AUTHORITY_FILE, Certificate.from_der(each)) for each in found.chain[-1:]]
    for beside, certificate in named:
        if certificate.der not in known_here:
            place = authority.pem_path(home.identity / beside, certificate)
            keyfile.write_whole(place, certificate.pem)


def _authority(home: Home, old: Certificate, secret: str, ask: Ask) -> Authority:
    """The authority of this home, made when there is none, under the signing key's passphrase."""
    place = home.identity / AUTHORITY_FILE
    if not place.exists():
        made = authority.create(place, secret, old.organization or old.common_name, old.demo)
        passphrase.share(home.identity / KEY_FILE, place, secret)
        return made
    if keyfile.opens(place, secret):
        return authority.load(place, secret)
    return open_authority(home, ask)


def _secret(home: Home, ask: Ask, there: Path | None = None) -> str:
    """The passphrase of the signing key, or of the one that waits to be; chosen for a first one.

    Raises PassphraseWrong when the variable holds another.
    """
    path = home.identity / KEY_FILE
    places = (there,) if there else (path, home.identity / REQUEST_FILE)
    place = next((each for each in places if each.exists()), None)
    if place is None:
        return passphrase.obtain(path, ask, creating=True)
    lock = place
    secret = passphrase.obtain(path, ask, False, lambda typed: keyfile.opens(lock, typed))
    keyfile.read(lock, secret)
    return secret


def _require_own(settings: IdentitySettings) -> None:
    if settings.pkcs12 or settings.pkcs11:
        raise IdentityUnfit(
            path=settings.pkcs12 or Path("on the token"),
            detail="the settings name it as the firm's own",
            mend=f"{ASK_ISSUER}, or remove that entry of [identity]",
        )


def _user() -> str:
    try:
        return getpass.getuser()
    except (KeyError, OSError):  # a user id without a name
        return "technician"
