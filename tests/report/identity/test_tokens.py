"""A key on a PKCS#11 token: SoftHSM (Debian's softhsm2), a whole token in software."""

import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pkcs11
import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import padding, rsa
from pkcs11 import Attribute, KeyType
from pkcs11.util.rsa import decode_rsa_private_key
from pkcs11.util.x509 import decode_x509_certificate

from recorder.errors import EngineMissing, IdentityUnfit, PassphraseWrong
from recorder.report.identity import tokens
from recorder.report.identity.certificates import Certificate
from recorder.settings import TokenSettings
from tests.report.identity.certs import KEYS, ROOT, SIGNER

MODULE = Path("/usr/lib/softhsm/libsofthsm2.so")
PIN = "2468"
FULL = TokenSettings(module=MODULE, token="Quillback", label="imke")


def _der(key: rsa.RSAPrivateKey) -> bytes:
    return key.private_bytes(
        serialization.Encoding.DER,
        serialization.PrivateFormat.TraditionalOpenSSL,
        serialization.NoEncryption(),
    )


def _put(session: pkcs11.Session, what: dict[Attribute, object], label: str) -> None:
    session.create_object({**what, Attribute.LABEL: label, Attribute.TOKEN: True})


@pytest.fixture(scope="module")
def issued() -> tuple[bytes, bytes]:
    return SIGNER.by(ROOT), ROOT.by(ROOT)


@pytest.fixture(scope="module", autouse=True)
def _tokens(
    tmp_path_factory: pytest.TempPathFactory, issued: tuple[bytes, bytes]
) -> Iterator[None]:
    """Quillback: a key with its chain, and one without; Curves: no RSA key; Blank: nothing."""
    folder = tmp_path_factory.mktemp("softhsm")
    (folder / "tokens").mkdir()
    config = folder / "softhsm2.conf"
    config.write_text(f"directories.tokendir = {folder / 'tokens'}\nlog.level = ERROR\n")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("SOFTHSM2_CONF", str(config))
        for label in ("Quillback", "Curves", "Blank"):
            command = ["softhsm2-util", "--init-token", "--free", "--label", label]
            subprocess.run(
                [*command, "--so-pin", "12345678", "--pin", PIN], check=True, capture_output=True
            )
        library = pkcs11.lib(str(MODULE))
        with library.get_token(token_label="Quillback").open(rw=True, user_pin=PIN) as session:
            _put(session, decode_rsa_private_key(_der(KEYS[SIGNER.key])), "imke")
            _put(session, decode_rsa_private_key(_der(KEYS[1])), "spare")
            for der in issued:
                _put(session, decode_x509_certificate(der), "any")
        with library.get_token(token_label="Curves").open(rw=True, user_pin=PIN) as session:
            curve = {Attribute.EC_PARAMS: bytes.fromhex("06082a8648ce3d030107")}
            parameters = session.create_domain_parameters(KeyType.EC, curve, local=True)
            parameters.generate_keypair(store=True, label="imke")
        yield


def test_the_token_signs_and_brings_its_chain(issued: tuple[bytes, bytes]) -> None:
    leaf, root = issued
    key = tokens.load(FULL, PIN)
    assert key.certificate == Certificate.from_der(leaf)
    assert key.chain == (root,)
    signature = key.sign(b"content")
    assert len(signature) == key.signature_bytes == 256
    public = x509.load_der_x509_certificate(leaf).public_key()
    assert isinstance(public, rsa.RSAPublicKey)
    public.verify(signature, b"content", padding.PKCS1v15(), hashes.SHA256())
    assert key.sign(b"content") == signature, "one valid encoding, time and again"


@pytest.mark.parametrize(
    ("changes", "why"),
    [
        ({"label": ""}, "it holds 2 keys"),
        ({"label": "olaf"}, "no key called olaf"),
        ({"label": "spare"}, "no certificate of its key"),
        ({"token": "Curves"}, "no RSA key"),
        ({"token": "Blank"}, "no key called imke"),
        ({"token": "Elsewhere"}, "No token"),
        ({"module": Path("/nowhere.so")}, "nowhere.so"),
    ],
)
def test_what_cannot_serve_is_told(changes: dict[str, object], why: str) -> None:
    with pytest.raises(IdentityUnfit, match=why):
        tokens.load(FULL.model_copy(update=changes), PIN)


def test_a_wrong_pin() -> None:
    with pytest.raises(PassphraseWrong, match="token Quillback"):
        tokens.load(FULL, "1357")


def test_a_token_that_was_pulled_out(monkeypatch: pytest.MonkeyPatch) -> None:
    key = tokens.load(FULL, PIN)

    class Gone:
        def get_token(self, token_label: str) -> object:
            raise pkcs11.TokenNotPresent

    monkeypatch.setattr(pkcs11, "lib", lambda path: Gone())
    with pytest.raises(IdentityUnfit, match=r"TokenNotPresent.*put it in"):
        key.sign(b"content")


def test_without_the_extra(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "pkcs11", None)
    with pytest.raises(EngineMissing, match=r"pip install 'seamnote\[token\]'"):
        tokens.load(FULL, PIN)
