"""Tokens in software: SoftHSM (Debian's softhsm2), https://github.com/softhsm/SoftHSMv2."""

from __future__ import annotations

import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pkcs11
import pytest
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric import rsa
from pkcs11 import Attribute, KeyType
from pkcs11.util.rsa import decode_rsa_private_key
from pkcs11.util.x509 import decode_x509_certificate

MODULE = Path("/usr/lib/softhsm/libsofthsm2.so")
PIN = "2468"


@contextmanager
def tokens(folder: Path, *labels: str) -> Iterator[None]:
    """Inside, the module finds new tokens with these labels, and no others."""
    (folder / "tokens").mkdir()
    config = folder / "softhsm2.conf"
    config.write_text(f"directories.tokendir = {folder / 'tokens'}\nlog.level = ERROR\n")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("SOFTHSM2_CONF", str(config))
        for label in labels:
            command = ["softhsm2-util", "--init-token", "--free", "--label", label]
            subprocess.run(
                [*command, "--so-pin", "12345678", "--pin", PIN], check=True, capture_output=True
            )
        pkcs11.lib(str(MODULE)).finalize()  # so that it reads the configuration anew
        yield
        pkcs11.lib(str(MODULE)).finalize()


def put(token: str, keys: dict[str, rsa.RSAPrivateKey], certificates: tuple[bytes, ...]) -> None:
    """Write keys by their labels, and certificates (DER), onto a token."""
    with pkcs11.lib(str(MODULE)).get_token(token_label=token).open(rw=True, user_pin=PIN) as there:
        for label, key in keys.items():
            der = key.private_bytes(
                serialization.Encoding.DER,
                serialization.PrivateFormat.TraditionalOpenSSL,
                serialization.NoEncryption(),
            )
            attributes = {Attribute.LABEL: label, Attribute.TOKEN: True}
            there.create_object({**decode_rsa_private_key(der), **attributes})
        for each in certificates:
            there.create_object({**decode_x509_certificate(each), Attribute.TOKEN: True})


def put_elliptic(token: str, label: str) -> None:
    """Make a key on the curve P-256 on a token."""
    with pkcs11.lib(str(MODULE)).get_token(token_label=token).open(rw=True, user_pin=PIN) as there:
        curve = {Attribute.EC_PARAMS: bytes.fromhex("06082a8648ce3d030107")}
        there.create_domain_parameters(KeyType.EC, curve, local=True).generate_keypair(
            store=True, label=label
        )
