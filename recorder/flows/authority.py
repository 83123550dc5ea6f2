"""The firm's authority: made at an office, issuing to technicians, shown to customers, trusted."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from recorder.archive.disk.home import Home
from recorder.errors import BadCertificate, IdentityUnfit, OutputUnwritable
from recorder.flows.identity import (
    AUTHORITY_FILE,
    FIRM_FILE,
    KEY_FILE,
    LARGEST_BYTES,
    REQUEST_FILE,
    Ask,
    alone,
    known,
    open_authority,
    require_free,
    write_out,
)
from recorder.inputs import read_whole
from recorder.model.base import Value
from recorder.report.identity import authority, certificates, chains, keyfile, passphrase, request
from recorder.report.identity.certificates import TIME_FOLDER, Certificate
from recorder.settings import IdentitySettings

_ISSUED = "issued"  # beginning of the file names of certificates that this home's authority issued
_TRUSTED = "trusted"  # and of those that came from others


class Holder(Value):
    """A certificate, as people compare it. fingerprint: SHA-256 in hex. until: its last moment."""

    common_name: str
    organization: str
    email: str
    issuer: str
    fingerprint: str
    until: datetime
    authority: bool

    @classmethod
    def of(cls, certificate: Certificate) -> Holder:
        return cls(
            common_name=certificate.common_name,
            organization=certificate.organization,
            email=certificate.email,
            issuer=certificate.issuer,
            fingerprint=certificate.fingerprint,
            until=certificate.not_after,
            authority=certificate.authority,
        )


class State(Value):
    """Who signs in a home. signer: None before the first use. key: where its key lies.
    self_signed: by an earlier version, to be renewed. waiting: a request waits for its answer.
    authority: that vouches for the signer, or that the office here has. issuing: its key is here.
    known: all others whom this home knows. time_stamps: authorities that may stamp times.
    """

    signer: Holder | None
    key: str
    self_signed: bool
    waiting: bool
    authority: Holder | None
    issuing: bool
    known: tuple[Holder, ...]
    time_stamps: tuple[Holder, ...]


class Issued(Value):
    """answer: the file for the technician. requested: SHA-256 of the public key in hex."""

    answer: Path
    holder: Holder
    requested: str


def state(home: Home, settings: IdentitySettings) -> State:
    """What can be said without a passphrase."""
    own = _in_force(home, settings)
    above = _above(home, own)
    shown = {each.fingerprint for each in (own, above) if each}
    return State(
        signer=Holder.of(own) if own else None,
        key=_key(home, settings),
        self_signed=own is not None and own.self_issued,
        waiting=(home.identity / REQUEST_FILE).exists(),
        authority=Holder.of(above) if above else None,
        issuing=(home.identity / AUTHORITY_FILE).exists(),
        known=tuple(Holder.of(each) for each in known(home) if each.fingerprint not in shown),
        time_stamps=tuple(
            Holder.of(each) for each in certificates.known_certificates(home.identity / TIME_FOLDER)
        ),
    )


def found(home: Home, firm: str, ask: Ask) -> Holder:
    """Make an authority alone, for an office. Raises BadValue, OutputUnwritable or
    PassphraseMissing.
    """
    place = home.identity / AUTHORITY_FILE
    if place.exists():
        raise OutputUnwritable(path=place, detail="an authority is there already")
    authority.require_name(firm)
    variables = (passphrase.AUTHORITY_VARIABLE, passphrase.VARIABLE)
    secret = passphrase.obtain(place, ask, creating=True, variables=variables)
    with alone(home):
        return Holder.of(authority.create(place, secret, firm).certificate)


def issue(home: Home, path: Path, ask: Ask) -> Issued:
    """Answer a technician's request: a certificate, written in PEM beside it, and kept here.

    Raises BadCertificate, OutputUnwritable, and what opening the authority raises.
    """
    asked = request.parse(read_whole(path, LARGEST_BYTES), path)
    answer = path.with_name(f"{path.stem}-certificate.pem")
    require_free(answer)
    above = open_authority(home, ask)
    issued = above.issue(asked.public_key, asked.common_name, asked.email)
    kept = authority.pem_path(home.identity / _ISSUED, issued)
    keyfile.write_whole(kept, issued.pem)
    write_out(answer, certificates.pem_of((issued, above.certificate)))
    return Issued(answer=answer, holder=Holder.of(issued), requested=asked.fingerprint)


def export(home: Home, settings: IdentitySettings, path: Path) -> Holder:
    """Write the authority's certificate for customers: DER to a name on .der or .cer, else PEM.

    Raises IdentityUnfit when there is none, and OutputUnwritable when the file is there already.
    """
    require_free(path)
    above = _above(home, _in_force(home, settings))
    if above is None:
        raise IdentityUnfit(
            path=home.identity / AUTHORITY_FILE,
            detail="there is no authority yet",
            mend="run 'seamnote identity create'",
        )
    binary = path.suffix.lower() in (".der", ".cer")
    write_out(path, above.der if binary else above.pem)
    return Holder.of(above)


def trust(home: Home, path: Path, time_stamps: bool) -> tuple[Holder, ...]:
    """Know the authorities in a file from now on; where it holds none, the signers in it.

    time_stamps: as those who may stamp times, and nothing else. Raises BadCertificate.
    """
    try:
        given = certificates.parse(read_whole(path, LARGEST_BYTES))
    except ValueError as error:
        mend = "give the PEM or DER file of a certificate"
        raise BadCertificate(path=path, detail="it holds no certificate", mend=mend) from error
    folder = home.identity / TIME_FOLDER if time_stamps else home.identity
    here = {each.der for each in certificates.known_certificates(folder)}
    taken = [each for each in given if each.authority] or list(given)
    for each in taken:
        if each.der not in here:
            keyfile.write_whole(authority.pem_path(folder / _TRUSTED, each), each.pem)
    return tuple(Holder.of(each) for each in taken)


def _in_force(home: Home, settings: IdentitySettings) -> Certificate | None:
    return _newest(home, FIRM_FILE if settings.pkcs12 or settings.pkcs11 else KEY_FILE)


def _newest(home: Home, key: str) -> Certificate | None:
    """The certificate of a key in this home; its former ones lie beside it."""
    files = home.identity.glob(f"{Path(key).stem}-*.pem")
    by_age = sorted(files, key=lambda path: path.stat().st_mtime_ns)
    held = [each for path in by_age for each in certificates.read(path)]
    return next(iter(sorted(held, key=lambda each: each.not_before)[-1:]), None)


def _above(home: Home, own: Certificate | None) -> Certificate | None:
    """The authority of the signer, else the one that lies here."""
    if own and not own.self_issued:
        chain = chains.issuers(own.der, [each.der for each in known(home)])
        if chain:
            return Certificate.from_der(chain[-1])
    return _newest(home, AUTHORITY_FILE)


def _key(home: Home, settings: IdentitySettings) -> str:
    if settings.pkcs11:
        return f"token {settings.pkcs11.token}"
    if settings.pkcs12:
        return str(home.root / settings.pkcs12.expanduser())
    path = home.identity / KEY_FILE
    return str(path) if path.exists() else ""
