"""A time stamp over a signature (RFC 3161): whether it is for this signature, and by whom.

The token comes from another maker's program, so there is no one exact form to rebuild it in.
Instead each part of it must be vouched for: the time by the authority's signature, its certificate
by the attribute that names it, the other certificates by the chain; what nothing vouches for must
be absent.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import datetime

from asn1crypto import cms, tsp
from cryptography import x509
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec, padding, rsa

from recorder.report.identity.certificates import Certificate
from recorder.report.verifying.container import as_set, whole_chain

# RFC 8933 and 5754: what authorities use today; SHA-1 and MD5 prove nothing any more.
_HASHES: dict[str, type[hashes.HashAlgorithm]] = {
    "sha256": hashes.SHA256,
    "sha384": hashes.SHA384,
    "sha512": hashes.SHA512,
}

_NULL = b"\x05\x00"  # what RFC 4055 writes for RSA without parameters


@dataclass(frozen=True)
class Stamp:
    """at: the time that the authority gave, with zone. certificate, chain: the authority's, as in
    ``recorder.report.verifying.container.Signature``.
    """

    at: datetime
    certificate: Certificate
    chain: tuple[bytes, ...]


def read(token: bytes, signature_value: bytes) -> Stamp:
    """The stamp in a token over a signature. Raises ValueError, with the reason in words."""
    try:
        return _parse(token, signature_value)
    except InvalidSignature as error:
        raise ValueError("its own signature is broken") from error
    except _Broken:
        raise
    except Exception as error:  # as in ``container``
        raise ValueError("it cannot be read") from error


class _Broken(ValueError):
    """A reason that is in words already."""


def _parse(token: bytes, signature_value: bytes) -> Stamp:
    outer = cms.ContentInfo.load(token, strict=True)
    if outer["content_type"].native != "signed_data":
        raise _Broken("it is no time stamp")
    content = outer["content"]
    (info,) = content["signer_infos"]
    kinds = (content["version"].native, content["encap_content_info"]["content_type"].native)
    if kinds != ("v3", "tst_info"):
        raise _Broken("it is no time stamp")
    encapsulated = content["encap_content_info"]["content"]
    told: tsp.TSTInfo = encapsulated.parsed
    _over(told["message_imprint"], signature_value)
    certificate, chain = _certificates(content, info)
    _signed(content, info, bytes(encapsulated), certificate)
    return Stamp(told["gen_time"].native, certificate, chain)


def _over(imprint: tsp.MessageImprint, signature_value: bytes) -> None:
    name = imprint["hash_algorithm"]["algorithm"].native
    if name not in _HASHES:
        raise _Broken(f"it uses {name}")
    if hashlib.new(name, signature_value).digest() != imprint["hashed_message"].native:
        raise _Broken("it was made for another signature")


def _certificates(
    content: cms.SignedData, info: cms.SignerInfo
) -> tuple[Certificate, tuple[bytes, ...]]:
    """The authority's certificate, named by the signed attributes, and its proven chain."""
    if content["crls"].native or info["unsigned_attrs"].native:
        raise _Broken("it holds what nobody signed")
    wrapped = [bytes(each.chosen.dump()) for each in content["certificates"]]
    named = [der for der in wrapped if _is_named(info, der)]
    if len(named) != 1:
        raise _Broken("its certificate is not the one that it names")
    if not _is_identified(info, named[0]):
        raise _Broken("it names another signer")
    others = [der for der in wrapped if der != named[0]]
    return Certificate.from_der(named[0]), whole_chain(named[0], others)


def _is_named(info: cms.SignerInfo, der: bytes) -> bool:
    attributes = {each["type"].native: each["values"][0] for each in info["signed_attrs"]}
    if "signing_certificate_v2" in attributes:
        named = attributes["signing_certificate_v2"]["certs"][0]
        name = named["hash_algorithm"]["algorithm"].native
        return bool(hashlib.new(name, der).digest() == named["cert_hash"].native)
    named = attributes["signing_certificate"]["certs"][0]  # RFC 2634, as RFC 3161 has it
    return bool(hashlib.sha1(der, usedforsecurity=False).digest() == named["cert_hash"].native)


def _is_identified(info: cms.SignerInfo, der: bytes) -> bool:
    """RFC 5652, 5.3: by issuer and serial number, or by the identifier of the key."""
    certificate, identifier = cms.Certificate.load(der), info["sid"]
    if identifier.name == "subject_key_identifier":
        own = certificate.key_identifier
        return info["version"].native == "v3" and bool(own == identifier.native)
    own = certificate.issuer.dump(), certificate.serial_number
    told = identifier.chosen["issuer"].dump(), identifier.chosen["serial_number"].native
    return info["version"].native == "v1" and bool(own == told)


def _signed(
    content: cms.SignedData, info: cms.SignerInfo, told: bytes, certificate: Certificate
) -> None:
    name = info["digest_algorithm"]["algorithm"].native
    (declared,) = content["digest_algorithms"]
    if name not in _HASHES or declared.dump() != info["digest_algorithm"].dump():
        raise _Broken(f"it uses {name}")
    attributes = info["signed_attrs"]
    values = {each["type"].native: each["values"] for each in attributes}
    if values["content_type"][0].native != "tst_info" or len(values) != len(attributes):
        raise _Broken("it signs something else")
    if values["message_digest"][0].native != hashlib.new(name, told).digest():
        raise _Broken("its time was changed")
    signed, value = as_set(attributes), info["signature"].native
    scheme = info["signature_algorithm"]["algorithm"].native
    if info["signature_algorithm"]["parameters"].dump() not in (b"", _NULL):
        raise _Broken(f"it uses {scheme} in an unknown way")
    key = x509.load_der_x509_certificate(certificate.der).public_key()
    if isinstance(key, rsa.RSAPublicKey) and scheme in ("rsassa_pkcs1v15", f"{name}_rsa"):
        key.verify(value, signed, padding.PKCS1v15(), _HASHES[name]())
    elif isinstance(key, ec.EllipticCurvePublicKey) and scheme == f"{name}_ecdsa":
        key.verify(value, signed, ec.ECDSA(_HASHES[name]()))
    else:
        raise _Broken(f"it uses {scheme}")
