"""A request from a laptop and its answer from the office."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import Encoding

from recorder.errors import BadCertificate, BadValue, PassphraseWrong
from recorder.report.identity import authority, certificates, keyfile, profile, request
from recorder.report.identity.authority import Authority

WHERE = Path("imke.csr")


@pytest.fixture(scope="module", autouse=True)
def _quickly() -> Iterator[None]:
    """Smaller keys, fewer rounds: what is tried here does not depend on either."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(profile, "KEY_BITS", 2048)
        patch.setattr(keyfile, "KDF_ROUNDS", 1000)
        yield


@pytest.fixture(scope="module")
def office(tmp_path_factory: pytest.TempPathFactory) -> Authority:
    folder = tmp_path_factory.mktemp("office")
    return authority.create(folder / authority.FILE, "office", "Quillback Belt Service")


@pytest.fixture(scope="module")
def waiting(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("laptop") / "request.p12"
    request.write(path, "laptop", "Imke Dorn", "")
    return path


@pytest.fixture(scope="module")
def answer(office: Authority, waiting: Path) -> bytes:
    content = request.write(waiting, "laptop", "Imke Dorn", "imke@quillback.example")
    asked = request.parse(content, WHERE)
    issued = office.issue(asked.public_key, asked.common_name, asked.email)
    return certificates.pem_of((issued, office.certificate))


def test_the_answer_is_for_the_waiting_key(answer: bytes, waiting: Path, office: Authority) -> None:
    found = request.answered(waiting, "laptop", answer, WHERE)
    assert found.certificate.common_name == "Imke Dorn"
    assert found.certificate.organization == "Quillback Belt Service"
    assert found.certificate.email == "imke@quillback.example"
    assert found.chain == (office.certificate.der,)


def test_asking_again_is_for_the_same_key(waiting: Path) -> None:
    twice = [
        request.parse(request.write(waiting, "laptop", name, ""), WHERE)
        for name in ("Imke Dorn", "Imke Dorn-Pell")
    ]
    assert twice[0].fingerprint == twice[1].fingerprint
    assert twice[1].common_name == "Imke Dorn-Pell"
    with pytest.raises(PassphraseWrong):
        request.write(waiting, "another", "Imke Dorn", "")


def test_a_request_may_come_in_binary(waiting: Path) -> None:
    content = request.write(waiting, "laptop", "Imke Dorn", "")
    binary = x509.load_pem_x509_csr(content).public_bytes(Encoding.DER)
    assert request.parse(binary, WHERE).common_name == "Imke Dorn"


def test_unusable_names_make_no_key(tmp_path: Path) -> None:
    with pytest.raises(BadValue):
        request.write(tmp_path / "request.p12", "x", "", "")
    with pytest.raises(BadValue):
        request.write(tmp_path / "request.p12", "x", "Imke Dorn", "no address")
    assert not list(tmp_path.iterdir())


def _elliptic() -> bytes:
    name = x509.Name([x509.NameAttribute(x509.NameOID.COMMON_NAME, "Imke Dorn")])
    builder = x509.CertificateSigningRequestBuilder().subject_name(name)
    made = builder.sign(ec.generate_private_key(ec.SECP256R1()), hashes.SHA256())
    return made.public_bytes(Encoding.PEM)


@pytest.mark.parametrize(
    ("bend", "why"),
    [
        (lambda der: b"", "no request"),
        (lambda der: b"-----BEGIN nothing", "no request"),
        (lambda der: der.replace(b"Imke", b"Olaf"), "changed on its way"),
        (lambda der: _elliptic(), "RSA key"),
    ],
    ids=["empty", "text", "another name", "elliptic curve"],
)
def test_what_is_no_request(waiting: Path, bend: Callable[[bytes], bytes], why: str) -> None:
    content = request.write(waiting, "laptop", "Imke Dorn", "")
    der = x509.load_pem_x509_csr(content).public_bytes(Encoding.DER)
    with pytest.raises(BadCertificate, match=why):
        request.parse(bend(der), WHERE)


def test_what_is_no_answer(answer: bytes, waiting: Path, office: Authority, tmp_path: Path) -> None:
    other = tmp_path / "other.p12"
    keyfile.write(other, "laptop", profile.new_key(), None)
    with pytest.raises(BadCertificate, match="another key"):
        request.answered(other, "laptop", answer, WHERE)
    alone = certificates.parse(answer)[0].pem
    with pytest.raises(BadCertificate, match="the authority is not in it"):
        request.answered(waiting, "laptop", alone, WHERE)
    with pytest.raises(BadCertificate, match="no certificate"):
        request.answered(waiting, "laptop", b"nothing", WHERE)
    with pytest.raises(PassphraseWrong):
        request.answered(waiting, "another", answer, WHERE)
