"""A request for a certificate (PKCS#10, RFC 2986): from a technician's laptop to the office.

The key stays on the laptop. The office's answer is a PEM file with the technician's certificate and
the authority's.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path

from cryptography import x509
from cryptography.exceptions import UnsupportedAlgorithm
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import rsa
from cryptography.x509.oid import NameOID

from recorder.errors import BadCertificate
from recorder.report.identity import certificates, chains, keyfile, profile
from recorder.report.identity.certificates import Certificate

MEND_REQUEST = "give the file that 'seamnote identity request' wrote"
MEND_ANSWER = "give the file that 'seamnote identity issue' wrote for this request"


@dataclass(frozen=True)
class Request:
    """Who asks. common_name, email: as they will stand in the certificate. fingerprint: SHA-256 of
    the public key (SubjectPublicKeyInfo) in hex.
    """

    common_name: str
    email: str
    public_key: rsa.RSAPublicKey
    fingerprint: str


@dataclass(frozen=True)
class Answer:
    """certificate: for the requested key. chain: DER of its issuers, the nearest first."""

    key: rsa.RSAPrivateKey
    certificate: Certificate
    chain: tuple[bytes, ...]


def write(waiting: Path, passphrase: str, common_name: str, email: str) -> bytes:
    """A request in PEM. Its key lies at ``waiting``; one that lies there already is asked for
    again.

    Raises BadValue for an unusable name or e-mail, OutputUnwritable, and what ``keyfile.read``
    raises.
    """
    name = profile.signer_name(common_name)
    builder = x509.CertificateSigningRequestBuilder().subject_name(
        x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name)])
    )
    if email:
        mail = x509.SubjectAlternativeName([x509.RFC822Name(profile.checked_email(email))])
        builder = builder.add_extension(mail, critical=False)
    if waiting.exists():
        key, _, _ = keyfile.read(waiting, passphrase)
    else:
        key = profile.new_key()
        keyfile.write(waiting, passphrase, key, None)
    return builder.sign(key, hashes.SHA256()).public_bytes(serialization.Encoding.PEM)


def parse(content: bytes, path: Path) -> Request:
    """Read a request, PEM or DER. Raises BadCertificate."""
    load = x509.load_pem_x509_csr if b"-----BEGIN" in content else x509.load_der_x509_csr
    try:
        request = load(content)
        key = request.public_key()
        valid = request.is_signature_valid
    except (ValueError, UnsupportedAlgorithm) as error:
        detail = "it is no request for a certificate"
        raise BadCertificate(path=path, detail=detail, mend=MEND_REQUEST) from error
    if not valid:
        detail = "it was changed on its way"
        raise BadCertificate(path=path, detail=detail, mend=MEND_REQUEST)
    if not isinstance(key, rsa.RSAPublicKey) or key.key_size < keyfile.FEWEST_BITS:
        detail = f"it is not for an RSA key of {keyfile.FEWEST_BITS} bits or more"
        raise BadCertificate(path=path, detail=detail, mend=MEND_REQUEST)
    names = request.subject.get_attributes_for_oid(NameOID.COMMON_NAME)
    return Request(
        common_name=" ".join(str(name.value) for name in names),
        email=_email(request),
        public_key=key,
        fingerprint=hashlib.sha256(_public(key)).hexdigest(),
    )


def answered(waiting: Path, passphrase: str, content: bytes, path: Path) -> Answer:
    """Hold an answer against the key that waits for it.

    content, path: of the answer. Raises BadCertificate, and what ``keyfile.read`` raises.
    """
    key, _, _ = keyfile.read(waiting, passphrase)
    try:
        given = certificates.parse(content)
    except ValueError as error:
        detail = "it holds no certificate"
        raise BadCertificate(path=path, detail=detail, mend=MEND_ANSWER) from error
    public = _public(key.public_key())
    own = next((each for each in given if _public_of(each) == public), None)
    if own is None:
        detail = "it is for another key than the one that waits here"
        raise BadCertificate(path=path, detail=detail, mend=MEND_ANSWER)
    chain = chains.issuers(own.der, [each.der for each in given])
    if not chain:
        detail = "the certificate of the authority is not in it"
        raise BadCertificate(path=path, detail=detail, mend=MEND_ANSWER)
    return Answer(key=key, certificate=own, chain=chain)


def _email(request: x509.CertificateSigningRequest) -> str:
    try:
        names = request.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    except (x509.ExtensionNotFound, ValueError):
        return ""
    return next(iter(names.get_values_for_type(x509.RFC822Name)), "")


def _public(key: rsa.RSAPublicKey) -> bytes:
    return key.public_bytes(
        serialization.Encoding.DER, serialization.PublicFormat.SubjectPublicKeyInfo
    )


def _public_of(certificate: Certificate) -> bytes:
    key = x509.load_der_x509_certificate(certificate.der).public_key()
    return key.public_bytes(
        serialization.Encoding.DER, serialization.PublicFormat.SubjectPublicKeyInfo
    )
