"""The local authority, whose certificates let a phone speak https with this machine.

A phone that trusts it trusts it for this machine alone: its name constraints permit the machine's
own name, 'localhost' and the addresses of private networks, and nothing of the world outside (RFC
5280, 4.2.1.10). Its key lies in the home without a passphrase, readable for its owner alone; so
does that of the server, which must start without being asked.
"""

from __future__ import annotations

import hashlib
import ipaddress
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from recorder.archive.disk import lock
from recorder.errors import AuthorityDamaged
from recorder.web.access.devices import FOLDER, make_private, write_private
from recorder.web.access.networks import PRIVATE, host_name

FILE = "authority.pem"  # its key and its certificate
SERVER_FILE = "server.pem"  # the same of the server
VALID_FOR = timedelta(days=3650)
SERVER_VALID_FOR = timedelta(days=90)  # browsers take up to 397 or 398 days, iOS 825
RENEW_BEFORE = timedelta(days=30)
_CLOCK_SLACK = timedelta(days=1)  # a field laptop's clock may be corrected backwards
_THIS_MACHINE = tuple(ipaddress.ip_network(text) for text in ("127.0.0.0/8", "::1/128"))
_LONGEST_NAME = 64  # RFC 5280, appendix A.1: ub-common-name

Name = x509.DNSName | x509.IPAddress


@dataclass(frozen=True)
class Authority:
    """certificate: its public half in DER, which phones install."""

    certificate: bytes
    _signed: x509.Certificate = field(repr=False)
    _key: ec.EllipticCurvePrivateKey = field(repr=False)

    @property
    def fingerprint(self) -> str:
        """SHA-256 of the certificate in hex, as phones show it."""
        return hashlib.sha256(self.certificate).hexdigest()

    def permitted(self, names: Iterable[str]) -> tuple[str, ...]:
        """Those of the names and addresses for which it may vouch: the machine may have another
        name now than when the phones learned to trust it.
        """
        found = self._signed.extensions.get_extension_for_class(x509.NameConstraints).value
        return tuple(each for each in names if _permits(found.permitted_subtrees or (), each))

    def issue(self, names: Iterable[str], now: datetime) -> bytes:
        """Key and certificate of a server with these names and addresses, as PEM."""
        given = [_general(each) for each in names]
        key = ec.generate_private_key(ec.SECP256R1())
        until = min(now + SERVER_VALID_FOR, self._signed.not_valid_after_utc)
        subject = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Seamnote")])
        builder = (
            _builder(subject, self._signed.subject, key, self._key, now, until)
            .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
            .add_extension(_usage(digital_signature=True), critical=True)
            .add_extension(x509.SubjectAlternativeName(given), critical=False)
        )
        return _pem(key, builder.sign(self._key, hashes.SHA256()))


def open_or_make(home: Path) -> Authority:
    """The authority of a home, made at first use, and anew when its own time ends.

    Raises AuthorityDamaged, Busy, OutputUnwritable.
    """
    path = home / FOLDER / FILE
    make_private(path.parent)
    with lock.held(path):
        found = _read(path) if path.exists() else None
        now = datetime.now(UTC)
        if found is None or found._signed.not_valid_after_utc - now < RENEW_BEFORE:
            key = ec.generate_private_key(ec.SECP256R1())
            write_private(path, _pem(key, _self_signed(key, host_name(), now)))
            found = _read(path)
        return found


def server_certificate(home: Path, names: Iterable[str]) -> Path:
    """The file with key and certificate of the server for these names and addresses; made anew when
    they are others, when its time nears its end, and when the authority is another one.

    Raises what ``open_or_make`` raises.
    """
    above = open_or_make(home)
    wanted = above.permitted(names)
    path = home / FOLDER / SERVER_FILE
    now = datetime.now(UTC)
    with lock.held(path):
        if not _serves(path, above, wanted, now):
            write_private(path, above.issue(wanted, now))
    return path


def _self_signed(key: ec.EllipticCurvePrivateKey, host: str, now: datetime) -> x509.Certificate:
    """Its name holds the day, so that people can tell it from one that follows it."""
    ending = f" {now:%Y-%m-%d}"
    common = f"Seamnote on {host}"[: _LONGEST_NAME - len(ending)] + ending
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, common)])
    subtrees: list[x509.GeneralName] = [x509.DNSName(host), x509.DNSName("localhost")]
    subtrees += [x509.IPAddress(network) for network in (*PRIVATE, *_THIS_MACHINE)]
    constraints = x509.NameConstraints(permitted_subtrees=subtrees, excluded_subtrees=None)
    return (
        _builder(name, name, key, key, now, now + VALID_FOR - 2 * _CLOCK_SLACK)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(_usage(key_cert_sign=True), critical=True)
        .add_extension(constraints, critical=True)
        .sign(key, hashes.SHA256())
    )


def _builder(
    subject: x509.Name, issuer: x509.Name, key: ec.EllipticCurvePrivateKey,
    above: ec.EllipticCurvePrivateKey, now: datetime, until: datetime,
) -> x509.CertificateBuilder:  # fmt: skip
    own = x509.SubjectKeyIdentifier.from_public_key(key.public_key())
    other = x509.AuthorityKeyIdentifier.from_issuer_public_key(above.public_key())
    server = x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH])
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - _CLOCK_SLACK)
        .not_valid_after(until)
        .add_extension(own, critical=False)
        .add_extension(other, critical=False)
        .add_extension(server, critical=False)
    )


def _usage(digital_signature: bool = False, key_cert_sign: bool = False) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=digital_signature, key_cert_sign=key_cert_sign,
        content_commitment=False, key_encipherment=False, data_encipherment=False,
        key_agreement=False, crl_sign=False, encipher_only=False, decipher_only=False,
    )  # fmt: skip


def _pem(key: ec.EllipticCurvePrivateKey, certificate: x509.Certificate) -> bytes:
    return key.private_bytes(
        serialization.Encoding.PEM,
        serialization.PrivateFormat.PKCS8,
        serialization.NoEncryption(),
    ) + certificate.public_bytes(serialization.Encoding.PEM)


def _read(path: Path) -> Authority:
    try:
        content = path.read_bytes()
        key = serialization.load_pem_private_key(content, None)
        signed = x509.load_pem_x509_certificate(content)
    except ValueError as error:
        raise AuthorityDamaged(path=path) from error
    if not isinstance(key, ec.EllipticCurvePrivateKey):
        raise AuthorityDamaged(path=path)
    return Authority(signed.public_bytes(serialization.Encoding.DER), signed, key)


def _serves(path: Path, above: Authority, names: tuple[str, ...], now: datetime) -> bool:
    try:
        found = x509.load_pem_x509_certificate(path.read_bytes())
        found.verify_directly_issued_by(above._signed)
        given = found.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    except Exception:  # whatever is wrong with it, another is made
        return False
    same = set(given) == {_general(each) for each in names}
    return same and found.not_valid_after_utc - now > RENEW_BEFORE


def _general(name: str) -> Name:
    """A name, or an address, an IPv6 also in brackets."""
    try:
        return x509.IPAddress(ipaddress.ip_address(name.strip("[]")))
    except ValueError:
        return x509.DNSName(name)


def _permits(subtrees: Iterable[x509.GeneralName], name: str) -> bool:
    asked = _general(name)
    if isinstance(asked, x509.IPAddress):
        networks = [each.value for each in subtrees if isinstance(each, x509.IPAddress)]
        address = ipaddress.ip_address(str(asked.value))
        return any(address in ipaddress.ip_network(str(each)) for each in networks)
    return asked in subtrees
