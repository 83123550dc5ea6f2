"""What stands in the certificates that a firm's own authority makes: names, usage, times.

The technician's key usage is that of ETSI EN 319 412-2, 4.3.2, for signatures on documents; the
extended usages are the two by which common verifiers judge signed documents: e-mail protection
(S/MIME, RFC 5280, 4.2.1.12) and document signing (RFC 9336).
"""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta

from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import rsa
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from recorder.errors import BadValue
from recorder.report.identity.certificates import DEMO_MARK

# RSA with PKCS#1 v1.5 padding and not an elliptic curve: a signature has one valid encoding only,
# so that a changed byte inside it can never still verify. 3072 bits: NIST SP 800-57 part 1, table
# 2, 128 bits of security. Every PDF reader knows it.
KEY_BITS = 3072
AUTHORITY_VALID_FOR = timedelta(days=20 * 365)
TECHNICIAN_VALID_FOR = timedelta(days=3 * 365)  # nothing revokes a certificate before it ends
CLOCK_SLACK = timedelta(days=1)  # a field laptop's clock may be corrected backwards
LONGEST_NAME = 64  # bytes; RFC 5280, appendix A.1: ub-common-name, ub-organization-name
DEMO_ORGANIZATION = f"{DEMO_MARK}, not for real work"
DOCUMENT_SIGNING = x509.ObjectIdentifier("1.3.6.1.5.5.7.3.36")  # RFC 9336

# An address as a person gives one; a certificate holds ASCII alone (RFC 5280, 4.2.1.6).
_EMAIL = re.compile(r"[A-Za-z0-9.!#$%&'*+/=?^_`{|}~-]+@[A-Za-z0-9-]+(\.[A-Za-z0-9-]+)+")


def new_key() -> rsa.RSAPrivateKey:
    return rsa.generate_private_key(public_exponent=65537, key_size=KEY_BITS)


def authority(key: rsa.RSAPrivateKey, organization: str, demo: bool) -> x509.Certificate:
    """The root of a firm: signed by itself, may issue to signers and to no further authority.

    Its name holds the year, so that people can tell it from one that follows it.
    Raises BadValue for an unusable name.
    """
    now = datetime.now(UTC)
    firm = firm_name(organization)
    ending = f" authority {now.year}"
    room = LONGEST_NAME - len(ending) - (len(f"{DEMO_MARK} ") if demo else 0)
    name = _subject(f"{_cut(firm, room)}{ending}", firm, demo)
    usage = _usage(key_cert_sign=True, crl_sign=True)
    builder = _builder(name, name, key.public_key(), key.public_key(), now + AUTHORITY_VALID_FOR)
    return (
        builder.add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(usage, critical=True)
        .sign(key, hashes.SHA256())
    )


def technician(
    public_key: rsa.RSAPublicKey,
    common_name: str,
    email: str,
    issuer: x509.Certificate,
    issuer_key: rsa.RSAPrivateKey,
) -> x509.Certificate:
    """A signer's certificate by a firm's authority, of which it takes the organization.

    It ends with the authority at the latest. Raises BadValue for an unusable name or e-mail.
    """
    organization = _text(issuer, NameOID.ORGANIZATION_NAME)
    demo = _text(issuer, NameOID.COMMON_NAME).split(" ")[0] == DEMO_MARK
    name = _subject(signer_name(common_name), organization, demo)
    until = min(datetime.now(UTC) + TECHNICIAN_VALID_FOR, issuer.not_valid_after_utc)
    builder = _builder(name, issuer.subject, public_key, issuer_key.public_key(), until)
    if email:
        mail = x509.SubjectAlternativeName([x509.RFC822Name(checked_email(email))])
        builder = builder.add_extension(mail, critical=False)
    extended = x509.ExtendedKeyUsage([ExtendedKeyUsageOID.EMAIL_PROTECTION, DOCUMENT_SIGNING])
    return (
        builder.add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(_usage(digital_signature=True, content_commitment=True), critical=True)
        .add_extension(extended, critical=False)
        .sign(issuer_key, hashes.SHA256())
    )


def firm_name(name: str) -> str:
    """A name as it can stand in a certificate. Raises BadValue when nothing is left of it."""
    firm = printable(name)
    if not firm:
        raise BadValue(value=name, field="a firm's name", hint="set [report] firm in settings")
    return firm


def signer_name(name: str) -> str:
    """A name as it can stand in a certificate. Raises BadValue when nothing is left of it."""
    person = printable(name)
    if not person:
        raise BadValue(
            value=name, field="a signer's name", hint="set [report] technician in settings"
        )
    return person


def checked_email(address: str) -> str:
    """Raises BadValue for what is no e-mail address."""
    plain = address.strip()
    if not _EMAIL.fullmatch(plain) or len(plain) > 254:
        raise BadValue(
            value=address, field="an e-mail address", hint="give one like name@firm.example"
        )
    return plain


def printable(name: str) -> str:
    visible = "".join(char if char.isprintable() else " " for char in name)
    return _cut(" ".join(visible.split()))


def _cut(name: str, longest: int = LONGEST_NAME) -> str:
    return name.encode()[:longest].decode(errors="ignore").strip()


def _subject(common_name: str, organization: str, demo: bool) -> x509.Name:
    if demo:
        common_name = _cut(f"{DEMO_MARK} {common_name.removeprefix(f'{DEMO_MARK} ')}")
        organization = DEMO_ORGANIZATION
    parts = [(NameOID.ORGANIZATION_NAME, organization), (NameOID.COMMON_NAME, common_name)]
    return x509.Name([x509.NameAttribute(oid, text) for oid, text in parts if text])


def _builder(
    subject: x509.Name,
    issuer: x509.Name,
    public_key: rsa.RSAPublicKey,
    issuer_key: rsa.RSAPublicKey,
    until: datetime,
) -> x509.CertificateBuilder:
    above = x509.AuthorityKeyIdentifier.from_issuer_public_key(issuer_key)
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(public_key)
        .serial_number(x509.random_serial_number())
        .not_valid_before(datetime.now(UTC) - CLOCK_SLACK)
        .not_valid_after(until)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(public_key), critical=False)
        .add_extension(above, critical=False)
    )


def _usage(**permitted: bool) -> x509.KeyUsage:
    usages = dict.fromkeys(
        (
            "digital_signature",
            "content_commitment",
            "key_encipherment",
            "data_encipherment",
            "key_agreement",
            "key_cert_sign",
            "crl_sign",
            "encipher_only",
            "decipher_only",
        ),
        False,
    )
    return x509.KeyUsage(**usages | permitted)


def _text(certificate: x509.Certificate, oid: x509.ObjectIdentifier) -> str:
    return ", ".join(str(a.value) for a in certificate.subject.get_attributes_for_oid(oid))
