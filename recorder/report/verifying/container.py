"""The signature inside a report: a CMS container in one exact form, every byte accounted for.

CMS (RFC 5652) leaves parts of a container outside of what is signed: algorithm identifiers, the
choice of case in hexadecimal digits, padding, unsigned attributes. They could be changed without
breaking the signature. So the container is rebuilt from its signed parts alone, in the one form
in which ``recorder.report.signing`` writes it, and must come out byte by byte as it stands in the
file. Two parts bring their own proof: the certificates of the chain, each signed by the next, and
a time stamp (``recorder.report.verifying.stamp``). Anybody may leave them out, or put others in
their place that bring their proof too; so whom to believe is settled by what the home knows
(``recorder.report.verifying.signers``).
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass

from asn1crypto import cms, tsp
from cryptography import x509
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import padding, rsa

from recorder.report.identity import chains
from recorder.report.identity.certificates import Certificate

_DIGEST = "sha256"
_ALLOWED = {"content_type", "message_digest", "signing_certificate_v2", "cms_algorithm_protection"}


@dataclass(frozen=True)
class Signature:
    """What a container says.

    certificate: of the signer. chain: DER of its issuers, the nearest first, as they came along.
    message_digest: SHA-256 of the covered bytes as they were signed. signed: DER of the attributes
    over which ``value`` was made. stamp: DER of the time-stamp token; empty without one.
    """

    certificate: Certificate
    chain: tuple[bytes, ...]
    message_digest: bytes
    signed: bytes
    value: bytes
    stamp: bytes

    def matches_certificate(self) -> bool:
        """Whether ``value`` was made by the certificate's key over exactly ``signed``."""
        key = x509.load_der_x509_certificate(self.certificate.der).public_key()
        if not isinstance(key, rsa.RSAPublicKey):
            return False
        try:
            key.verify(self.value, self.signed, padding.PKCS1v15(), hashes.SHA256())
        except InvalidSignature:
            return False
        return True


def read(written: bytes) -> Signature:
    """Read '<hex digits>' as it fills the gap of a byte range.

    Raises ValueError, with the reason in words, for everything but the one exact form.
    """
    if written[:1] != b"<" or written[-1:] != b">":
        raise ValueError("it is not where the covered bytes say")
    try:
        padded = bytes.fromhex(written[1:-1].decode("ascii"))
    except ValueError as error:
        raise ValueError("it is not hexadecimal") from error
    try:
        signature, rebuilt = _parse(padded)
    except Exception as error:  # readers of ASN.1 raise of every kind on bytes that are none
        raise ValueError("it cannot be read") from error
    exact = rebuilt.ljust(len(padded), b"\0").hex().upper().encode()
    if b"<" + exact + b">" != written:
        raise ValueError("it is not in the form in which it was written")
    return signature


def whole_chain(leaf: bytes, others: Sequence[bytes]) -> tuple[bytes, ...]:
    """The chain from the issuer of ``leaf`` up (all DER), each proven to have signed the one below.

    Raises ValueError when one of ``others`` is no part of it: nobody would vouch for its bytes.
    """
    chain = chains.issuers(leaf, others)
    if len(chain) != len(others):
        raise ValueError("a certificate that is no part of the chain")
    top = x509.load_der_x509_certificate(chain[-1] if chain else leaf)
    if top.issuer == top.subject:
        try:
            top.verify_directly_issued_by(top)
        except InvalidSignature as error:
            raise ValueError("a certificate that did not sign itself as it says") from error
    return chain


def _parse(padded: bytes) -> tuple[Signature, bytes]:
    outer = cms.ContentInfo.load(padded)
    content = outer["content"]
    (info,) = content["signer_infos"]
    wrapped = [each.chosen for each in content["certificates"]]
    sid = info["sid"].chosen
    (leaf,) = (
        each
        for each in wrapped
        if each.issuer == sid["issuer"] and each.serial_number == sid["serial_number"].native
    )
    certificate = Certificate.from_der(leaf.dump())
    attributes = info["signed_attrs"]
    values = {each["type"].native: each["values"] for each in attributes}
    if not values.keys() <= _ALLOWED or len(values) != len(attributes):
        raise ValueError("unknown attributes")
    if values["content_type"][0].native != "data":
        raise ValueError("it signs something else")
    _names_signer(values["signing_certificate_v2"], certificate)
    others = [bytes(each.dump()) for each in wrapped if each is not leaf]
    signature = Signature(
        certificate=certificate,
        chain=whole_chain(certificate.der, others),
        message_digest=values["message_digest"][0].native,
        signed=as_set(attributes),
        value=info["signature"].native,
        stamp=_stamp(info["unsigned_attrs"]),
    )
    return signature, _rebuilt(leaf, wrapped, signature)


def as_set(attributes: cms.CMSAttributes) -> bytes:
    """What a signature is made over (RFC 5652, 5.4): the attributes under the tag of a set."""
    return b"\x31" + bytes(attributes.dump())[1:]


def _names_signer(values: cms.SetOf, certificate: Certificate) -> None:
    """The signed attribute must hold the digest of the certificate that came along."""
    named: tsp.ESSCertIDv2 = values[0]["certs"][0]
    if named["hash_algorithm"]["algorithm"].native != _DIGEST:
        raise ValueError("another digest")
    if named["cert_hash"].native != hashlib.sha256(certificate.der).digest():
        raise ValueError("another certificate")


def _stamp(attributes: cms.CMSAttributes) -> bytes:
    if not attributes:
        return b""
    (attribute,) = attributes
    (token,) = attribute["values"]
    if attribute["type"].native != "signature_time_stamp_token":
        raise ValueError("unknown unsigned attributes")
    return bytes(token.dump())


def _rebuilt(leaf: cms.Certificate, wrapped: list[cms.Certificate], signature: Signature) -> bytes:
    digest = cms.DigestAlgorithm({"algorithm": _DIGEST})
    told = {
        "version": "v1",
        "sid": cms.SignerIdentifier(
            {
                "issuer_and_serial_number": cms.IssuerAndSerialNumber(
                    {"issuer": leaf.issuer, "serial_number": leaf.serial_number}
                )
            }
        ),
        "digest_algorithm": digest,
        "signed_attrs": cms.CMSAttributes.load(signature.signed),
        "signature_algorithm": cms.SignedDigestAlgorithm({"algorithm": "sha256_rsa"}),
        "signature": signature.value,
    }
    if signature.stamp:
        kind = {"type": "signature_time_stamp_token"}
        token = cms.ContentInfo.load(signature.stamp)
        told["unsigned_attrs"] = cms.CMSAttributes([{**kind, "values": [token]}])
    data = cms.SignedData(
        {
            "version": "v1",
            "digest_algorithms": cms.DigestAlgorithms([digest]),
            "encap_content_info": {"content_type": "data"},
            "certificates": sorted(wrapped, key=lambda each: bytes(each.dump())),
            "signer_infos": [cms.SignerInfo(told)],
        }
    )
    return bytes(cms.ContentInfo({"content_type": "signed_data", "content": data}).dump())
