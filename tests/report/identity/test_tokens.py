"""A key on a PKCS#11 token."""

import sys
from collections.abc import Iterator
from pathlib import Path

import pkcs11
import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import padding, rsa

from recorder.errors import EngineMissing, IdentityUnfit, PassphraseWrong
from recorder.report.identity import tokens
from recorder.report.identity.certificates import Certificate
from recorder.settings import TokenSettings
from tests.report.identity import softhsm
from tests.report.identity.certs import KEYS, ROOT, SIGNER
from tests.report.identity.softhsm import MODULE, PIN

FULL = TokenSettings(module=MODULE, token="Quillback", label="imke")


@pytest.fixture(scope="module")
def issued() -> tuple[bytes, bytes]:
    return SIGNER.by(ROOT), ROOT.by(ROOT)


@pytest.fixture(scope="module", autouse=True)
def _tokens(
    tmp_path_factory: pytest.TempPathFactory, issued: tuple[bytes, bytes]
) -> Iterator[None]:
    """Quillback: a key with its chain, and one without; Curves: no RSA key; Blank: nothing."""
    with softhsm.tokens(tmp_path_factory.mktemp("softhsm"), "Quillback", "Curves", "Blank"):
        softhsm.put("Quillback", {"imke": KEYS[SIGNER.key], "spare": KEYS[1]}, issued)
        softhsm.put_elliptic("Curves", "imke")
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
