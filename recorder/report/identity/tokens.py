"""A key that never leaves its PKCS#11 token: a smart card, a USB stick, a module in a server.

The only module that knows python-pkcs11. A session lasts for one use, so that a token may be pulled
out and put back between two signatures.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from cryptography import x509
from cryptography.hazmat.primitives.asymmetric import rsa

from recorder.errors import EngineMissing, IdentityUnfit, PassphraseWrong
from recorder.report.identity import chains
from recorder.report.identity.certificates import Certificate
from recorder.report.identity.identity import Identity
from recorder.report.identity.keyfile import FEWEST_BITS, MEND_KEY
from recorder.settings import TokenSettings

if TYPE_CHECKING:
    import pkcs11

INSTALL = "pip install 'seamnote[token]'"


def name(settings: TokenSettings) -> str:
    """By which a prompt, the keyring and an error call it."""
    return f"token {settings.token}"


def load(settings: TokenSettings, pin: str, known: Iterable[Certificate] = ()) -> Identity:
    """The key on a token with its certificates.

    known: fill the chain where the token does not hold it.
    Raises EngineMissing, PassphraseWrong for a wrong PIN, and IdentityUnfit when the token or an
    RSA key with its certificate is not there.
    """
    with _session(settings, pin) as session:
        modulus = _modulus(settings, _key(settings, session))
        held = [der for der in _certificates(session) if der]
    own = next((der for der in held if _modulus_of(der) == modulus), None)
    if own is None:
        raise _unfit(settings, "it holds no certificate of its key", "put that on the token too")
    pool = [*held, *(each.der for each in known)]
    return Identity(
        certificate=Certificate.from_der(own),
        chain=chains.issuers(own, pool),
        sign=_signing(settings, pin),
        signature_bytes=(modulus.bit_length() + 7) // 8,
    )


def _signing(settings: TokenSettings, pin: str) -> Callable[[bytes], bytes]:
    def sign(data: bytes) -> bytes:
        from pkcs11 import Mechanism

        with _session(settings, pin) as session:
            key = _key(settings, session)
            return bytes(key.sign(data, mechanism=Mechanism.SHA256_RSA_PKCS))

    return sign


@contextmanager
def _session(settings: TokenSettings, pin: str) -> Iterator[pkcs11.Session]:
    try:
        import pkcs11
    except ImportError as error:
        raise EngineMissing(
            engine="PKCS#11", detail="python-pkcs11 is not installed", install=INSTALL
        ) from error
    try:
        token = pkcs11.lib(str(settings.module)).get_token(token_label=settings.token)
        with token.open(user_pin=pin) as session:
            yield session
    except (pkcs11.PinIncorrect, pkcs11.PinLenRange, pkcs11.PinInvalid) as error:
        raise PassphraseWrong(path=name(settings)) from error
    except pkcs11.PKCS11Error as error:
        detail = str(error) or type(error).__name__
        mend = "put it in, and check module, token and label in [identity] pkcs11 of the settings"
        raise _unfit(settings, detail, mend) from error


def _key(settings: TokenSettings, session: pkcs11.Session) -> Any:
    from pkcs11 import Attribute, KeyType, ObjectClass

    wanted: dict[Attribute, object] = {Attribute.CLASS: ObjectClass.PRIVATE_KEY}
    if settings.label:
        wanted[Attribute.LABEL] = settings.label
    keys = list(session.get_objects(wanted))
    if len(keys) != 1:
        called = f" called {settings.label}" if settings.label else ""
        there = "no key" if not keys else f"{len(keys)} keys"
        mend = "name the label of one of its keys in [identity] pkcs11 of the settings"
        raise _unfit(settings, f"it holds {there}{called}", mend)
    (key,) = keys
    if key[Attribute.KEY_TYPE] != KeyType.RSA:
        raise _unfit(settings, "its key is no RSA key", MEND_KEY)
    return key


def _modulus(settings: TokenSettings, key: Any) -> int:
    from pkcs11 import Attribute

    modulus = int.from_bytes(key[Attribute.MODULUS], "big")
    if modulus.bit_length() < FEWEST_BITS:
        raise _unfit(settings, f"its key has {modulus.bit_length()} bits", MEND_KEY)
    return modulus


def _certificates(session: pkcs11.Session) -> Iterator[bytes]:
    from pkcs11 import Attribute, ObjectClass

    for each in session.get_objects({Attribute.CLASS: ObjectClass.CERTIFICATE}):
        yield bytes(each[Attribute.VALUE])


def _modulus_of(der: bytes) -> int | None:
    try:
        key = x509.load_der_x509_certificate(der).public_key()
    except ValueError:
        return None
    return key.public_numbers().n if isinstance(key, rsa.RSAPublicKey) else None


def _unfit(settings: TokenSettings, detail: str, mend: str) -> IdentityUnfit:
    return IdentityUnfit(path=Path(name(settings)), detail=detail, mend=mend)
