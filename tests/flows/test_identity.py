"""Who signs: made on first use, upgraded, renewed, asked for at an office, or the firm's own."""

import shutil
import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.serialization import pkcs12

from recorder.archive.disk.home import Home
from recorder.errors import (
    BadCertificate,
    BadSettings,
    BadValue,
    FileMissing,
    IdentityUnfit,
    OutputUnwritable,
    PassphraseMissing,
    PassphraseWrong,
)
from recorder.flows import authority, doctor, identity
from recorder.model.job import Job
from recorder.model.reading import Reading, Standing, Typed
from recorder.report.identity import certificates, chains, keyfile, passphrase, profile
from recorder.report.identity.identity import Identity
from recorder.settings import IdentitySettings, ReportSettings, Settings, TokenSettings, load
from tests.report.identity import softhsm
from tests.report.identity.certs import KEYS, MIDDLE, ROOT, SIGNER, Made

SETTINGS = Settings(report=ReportSettings(firm="Quillback Belt Service", technician="Imke Dorn"))
JOB = Job(id="20260601-120000-0000", created_at=datetime.now(UTC), version="1")


@pytest.fixture(autouse=True)
def _quickly(monkeypatch: pytest.MonkeyPatch) -> None:
    """Smaller keys, fewer rounds: what is tried here does not depend on either."""
    monkeypatch.setattr(profile, "KEY_BITS", 2048)
    monkeypatch.setattr(keyfile, "KDF_ROUNDS", 1000)
    monkeypatch.setenv(passphrase.VARIABLE, "secret")
    monkeypatch.delenv(passphrase.AUTHORITY_VARIABLE, raising=False)


@pytest.fixture
def home(tmp_path: Path) -> Home:
    return Home.open(tmp_path / "home")


def sign_in(home: Home, settings: Settings = SETTINGS) -> tuple[Identity, list[str]]:
    told: list[str] = []
    return identity.signer(home, JOB, settings, None, told.append), told


def trusted(home: Home, key: Identity) -> bool:
    chain = chains.build(key.certificate.der, key.chain, identity.known(home), datetime.now(UTC))
    return chain.trusted


def old_key(home: Home, name: str = "Imke Dorn") -> bytes:
    """A self-signed key as an earlier version made it; the DER of its certificate."""
    der = Made(name, 0, ends=datetime.now(UTC) + timedelta(days=900)).by(Made(name, 0))
    path = home.identity / identity.KEY_FILE
    keyfile.write(path, "secret", KEYS[0], x509.load_der_x509_certificate(der))
    certificate = certificates.Certificate.from_der(der)
    (home.identity / f"signer-{certificate.fingerprint[:16]}.pem").write_bytes(certificate.pem)
    return der


def test_made_on_first_use_and_then_used(home: Home) -> None:
    made, told = sign_in(home)
    assert (made.common_name, made.organization) == ("Imke Dorn", "Quillback Belt Service")
    assert trusted(home, made)
    assert len(told) == 1
    assert "made a signing key for Imke Dorn" in told[0]
    again, told = sign_in(home)
    assert again.certificate == made.certificate
    assert again.chain == made.chain
    assert told == []


@pytest.mark.parametrize("old", [False, True])
def test_two_at_once_sign_with_one_key(home: Home, old: bool) -> None:
    """Neither is told of an authority whose key is lost."""
    if old:
        old_key(home)
    start = threading.Barrier(2)

    def sign(_: int) -> tuple[Identity, list[str]]:
        start.wait()
        return sign_in(home)

    with ThreadPoolExecutor(2) as both:
        (one, told), (other, also_told) = both.map(sign, range(2))
    assert one.certificate == other.certificate
    assert one.chain == other.chain
    assert len(told) + len(also_told) == 1
    assert len(list(home.identity.glob("authority-*.pem"))) == 1


def test_two_at_once_make_one_key(home: Home) -> None:
    start = threading.Barrier(2)

    def create(_: int) -> Identity | None:
        start.wait()
        try:
            return identity.create(home, None, "Imke Dorn", "Quillback Belt Service", "")
        except IdentityUnfit:
            return None

    with ThreadPoolExecutor(2) as both:
        (made,) = filter(None, both.map(create, range(2)))
    assert sign_in(home)[0].certificate == made.certificate


def test_the_name_comes_from_the_job_where_no_setting_has_it(home: Home) -> None:
    said = Reading(
        field="technician", value="Olaf Pell", unit=None, standing=Standing.CONFIRMED,
        evidence=Typed(file="job.toml"),
    )  # fmt: skip
    job = JOB.model_copy(update={"readings": (said,)})
    made = identity.signer(home, job, Settings(), None)
    assert (made.common_name, made.organization) == ("Olaf Pell", "Olaf Pell")


def test_no_passphrase_makes_nothing(home: Home, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv(passphrase.VARIABLE)
    with pytest.raises(PassphraseMissing):
        sign_in(home)
    assert list(home.identity.iterdir()) == []


def test_a_wrong_passphrase(home: Home, monkeypatch: pytest.MonkeyPatch) -> None:
    sign_in(home)
    monkeypatch.setenv(passphrase.VARIABLE, "another")
    with pytest.raises(PassphraseWrong):
        sign_in(home)
    with pytest.raises(PassphraseWrong):
        identity.ask_office(home, SETTINGS, None, "", "", home.root / "imke.csr")
    assert not (home.root / "imke.csr").exists()


def test_a_self_signed_key_is_replaced_and_stays_known(home: Home) -> None:
    old = old_key(home)
    before = (home.identity / identity.KEY_FILE).read_bytes()
    made, told = sign_in(home)
    assert made.common_name == "Imke Dorn"
    assert not made.certificate.self_issued
    assert trusted(home, made)
    assert len(told) == 1
    assert "was replaced" in told[0]
    assert old in {each.der for each in identity.known(home)}
    kept = [path.read_bytes() for path in home.identity.glob("signer-*.p12")]
    assert kept == [before]
    assert sign_in(home)[1] == []


def test_renewing_keeps_the_name_and_the_authority(home: Home) -> None:
    first = identity.create(home, None, "Imke Dorn", "Quillback", "imke@quillback.example")
    second = identity.renew(home, SETTINGS, None, "", "")
    assert second.certificate.common_name == "Imke Dorn"
    assert second.certificate.email == "imke@quillback.example"
    assert second.chain == first.chain
    assert second.fingerprint != first.fingerprint
    assert {first.certificate, second.certificate} < set(identity.known(home))
    assert sign_in(home)[0].certificate == second.certificate
    other = identity.renew(home, SETTINGS, None, "Olaf Pell", "")
    assert other.common_name == "Olaf Pell"
    state = authority.state(home, SETTINGS.identity)
    assert state.signer == authority.Holder.of(other.certificate)


def test_nothing_to_renew_and_nothing_to_make_twice(home: Home) -> None:
    with pytest.raises(IdentityUnfit, match="identity create"):
        identity.renew(home, SETTINGS, None, "", "")
    identity.create(home, None, "Imke Dorn", "Quillback", "")
    with pytest.raises(IdentityUnfit, match="identity renew"):
        identity.create(home, None, "Imke Dorn", "Quillback", "")
    with pytest.raises(OutputUnwritable, match="already"):
        authority.found(home, "Quillback", None)


def test_another_authority_after_a_loss(home: Home, tmp_path: Path) -> None:
    """Both bear the same name, and the right one is taken everywhere."""
    old, _ = sign_in(home)
    (home.identity / identity.AUTHORITY_FILE).rename(tmp_path / "lost.p12")
    made = authority.found(home, "Quillback Belt Service", None)
    new = identity.renew(home, SETTINGS, None, "", "")
    assert new.certificate.issuer == old.certificate.issuer
    assert new.chain != old.chain
    assert authority.export(home, SETTINGS.identity, tmp_path / "firm.pem") == made
    customer = Home.open(tmp_path / "customer")
    authority.trust(customer, tmp_path / "firm.pem", time_stamps=False)
    assert trusted(customer, new)
    assert not trusted(customer, old)


@pytest.mark.parametrize("days", [30, -1])
def test_an_end_that_is_near_or_past(
    home: Home, monkeypatch: pytest.MonkeyPatch, days: int
) -> None:
    monkeypatch.setattr(profile, "TECHNICIAN_VALID_FOR", timedelta(days=days, minutes=1))
    monkeypatch.setattr(profile, "CLOCK_SLACK", timedelta(days=2))
    identity.create(home, None, "Imke Dorn", "Quillback", "")
    if days > 0:
        assert sign_in(home)[1] == [
            "the certificate of Imke Dorn ends in 30 days; run 'seamnote identity renew'"
        ]
    else:
        with pytest.raises(IdentityUnfit, match=r"valid from .*identity renew"):
            sign_in(home)


def test_a_laptop_and_its_office(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    office, laptop = Home.open(tmp_path / "office"), Home.open(tmp_path / "laptop")
    firm = authority.found(office, "Quillback Belt Service", None)
    assert not (office.identity / identity.KEY_FILE).exists()
    request = tmp_path / "imke.csr"
    asked = identity.ask_office(laptop, SETTINGS, None, "Imke Dorn", "", request)
    with pytest.raises(IdentityUnfit, match="not come yet"):
        sign_in(laptop)
    with pytest.raises(IdentityUnfit, match="not in this home"):
        authority.issue(laptop, request, None)

    monkeypatch.setenv(passphrase.AUTHORITY_VARIABLE, "wrong")
    with pytest.raises(PassphraseWrong):
        authority.issue(office, request, None)
    monkeypatch.delenv(passphrase.AUTHORITY_VARIABLE)
    issued = authority.issue(office, request, None)
    assert issued.answer == tmp_path / "imke-certificate.pem"
    assert issued.requested == asked.fingerprint
    assert issued.holder in authority.state(office, SETTINGS.identity).known
    with pytest.raises(OutputUnwritable, match="already"):
        authority.issue(office, request, None)

    made = identity.install(laptop, issued.answer, None)
    assert made.organization == "Quillback Belt Service"
    assert trusted(laptop, made)
    found, told = sign_in(laptop)
    assert found.certificate == made.certificate
    assert told == []
    assert authority.state(laptop, SETTINGS.identity).authority == firm
    with pytest.raises(IdentityUnfit, match=r"authority is elsewhere.*identity request"):
        identity.renew(laptop, SETTINGS, None, "", "")
    with pytest.raises(BadCertificate, match="no key waits"):
        identity.install(laptop, issued.answer, None)


def test_the_key_in_use_signs_until_the_answer_comes(tmp_path: Path) -> None:
    """A laptop that began by itself joins an office; its own authority is set aside."""
    office, laptop = Home.open(tmp_path / "office"), Home.open(tmp_path / "laptop")
    authority.found(office, "Quillback Belt Service", None)
    own, _ = sign_in(laptop)
    request = tmp_path / "imke.csr"
    identity.ask_office(laptop, SETTINGS, None, "", "", request)
    assert sign_in(laptop)[0].certificate == own.certificate
    made = identity.install(laptop, authority.issue(office, request, None).answer, None)
    assert made.common_name == "Imke Dorn"
    assert made.chain != own.chain
    assert trusted(laptop, own)
    assert not (laptop.identity / identity.AUTHORITY_FILE).exists()
    assert len(list(laptop.identity.glob("authority-*.p12"))) == 1


def test_an_office_may_have_another_passphrase(home: Home, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(passphrase.AUTHORITY_VARIABLE, "of the office")
    authority.found(home, "Quillback Belt Service", None)
    assert keyfile.opens(home.identity / identity.AUTHORITY_FILE, "of the office")
    made, _ = sign_in(home)
    assert keyfile.opens(home.identity / identity.KEY_FILE, "secret")
    assert made.organization == "Quillback Belt Service"
    assert identity.renew(home, SETTINGS, None, "", "").chain == made.chain


def firm_key(path: Path, leaf: bytes, *chain: bytes) -> Settings:
    """The firm's own PKCS#12 file, as another program writes it, and the settings that name it."""
    bundle = pkcs12.serialize_key_and_certificates(
        b"own", KEYS[SIGNER.key], x509.load_der_x509_certificate(leaf),
        [x509.load_der_x509_certificate(each) for each in chain],
        serialization.BestAvailableEncryption(b"secret"),
    )  # fmt: skip
    path.write_bytes(bundle)
    return SETTINGS.model_copy(update={"identity": IdentitySettings(pkcs12=Path(path.name))})


def long(made: Made) -> Made:
    now = datetime.now(UTC)
    return made.but(begins=now - timedelta(days=9), ends=now + timedelta(days=99), longest=None)


def test_the_firms_own_key_with_its_chain(home: Home) -> None:
    root, middle, leaf = long(ROOT), long(MIDDLE), long(SIGNER)
    chain = (middle.by(root), root.by(root))
    settings = firm_key(home.root / "firm.p12", leaf.by(middle), *reversed(chain))
    found, told = sign_in(home, settings)
    assert found.common_name == "Imke Dorn"
    assert found.chain == chain
    assert told == []
    assert trusted(home, found)
    state = authority.state(home, settings.identity)
    assert state.signer == authority.Holder.of(found.certificate)
    assert state.authority is not None
    assert state.authority.common_name == "Firm"
    assert not (home.identity / identity.KEY_FILE).exists()
    with pytest.raises(IdentityUnfit, match="firm's own"):
        identity.renew(home, settings, None, "", "")


def test_the_chain_may_be_known_instead(home: Home) -> None:
    root, leaf = long(ROOT), long(SIGNER)
    settings = firm_key(home.root / "firm.p12", leaf.by(root))
    with pytest.raises(IdentityUnfit, match=r"issuer Firm is missing.*identity trust"):
        sign_in(home, settings)
    path = home.root / "firm.crt"
    path.write_bytes(root.by(root))
    authority.trust(home, path, time_stamps=False)
    assert sign_in(home, settings)[0].chain == (path.read_bytes(),)


@pytest.mark.parametrize(
    ("make", "why"),
    [
        (lambda: (long(SIGNER).by(SIGNER),), "vouches for itself"),
        (lambda: (long(SIGNER).but(usage=("key_agreement",)).by(ROOT), ROOT.by(ROOT)), "permit"),
        (lambda: (long(SIGNER).but(ca=True).by(ROOT), ROOT.by(ROOT)), "permit"),
        (lambda: (SIGNER.by(ROOT), ROOT.by(ROOT)), "valid from .*have its issuer renew it"),
    ],
    ids=["self-signed", "usage", "authority", "time"],
)
def test_a_firms_key_that_cannot_serve(
    home: Home, make: Callable[[], tuple[bytes, ...]], why: str
) -> None:
    settings = firm_key(home.root / "firm.p12", *make())
    with pytest.raises(IdentityUnfit, match=why):
        sign_in(home, settings)


def test_a_firms_key_that_is_not_there(home: Home) -> None:
    settings = SETTINGS.model_copy(update={"identity": IdentitySettings(pkcs12=Path("firm.p12"))})
    with pytest.raises(FileMissing):
        sign_in(home, settings)


def test_the_firms_token(home: Home, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    token = TokenSettings(module=softhsm.MODULE, token="Quillback")
    settings = SETTINGS.model_copy(update={"identity": IdentitySettings(pkcs11=token)})
    root, leaf = long(ROOT), long(SIGNER)
    with softhsm.tokens(tmp_path, "Quillback"):
        softhsm.put("Quillback", {"any": KEYS[SIGNER.key]}, (leaf.by(root), root.by(root)))
        with pytest.raises(PassphraseWrong, match="token Quillback"):
            sign_in(home, settings)
        asked: list[str] = []
        monkeypatch.delenv(passphrase.VARIABLE)

        def ask(prompt: str) -> str:
            _ask(asked)(prompt)
            return softhsm.PIN

        found = identity.signer(home, JOB, settings, ask)
        assert asked == ["Passphrase of token Quillback: "]
        assert found.sign(b"content")
    assert trusted(home, found)
    state = authority.state(home, settings.identity)
    assert state.signer == authority.Holder.of(found.certificate)
    assert state.key == "token Quillback"


def test_a_customer_trusts_what_the_firm_exports(tmp_path: Path) -> None:
    firm, customer = Home.open(tmp_path / "firm"), Home.open(tmp_path / "customer")
    with pytest.raises(IdentityUnfit, match="no authority yet"):
        authority.export(firm, SETTINGS.identity, tmp_path / "firm.pem")
    key, _ = sign_in(firm)
    assert not trusted(customer, key)
    for name in ("firm.pem", "firm.cer"):
        path = tmp_path / name
        given = authority.export(firm, SETTINGS.identity, path)
        assert authority.trust(customer, path, time_stamps=False) == (given,)
        with pytest.raises(OutputUnwritable, match="already"):
            authority.export(firm, SETTINGS.identity, path)
    assert trusted(customer, key)
    assert trusted(customer, identity.renew(firm, SETTINGS, None, "", ""))
    assert len(list(customer.identity.glob("*.pem"))) == 1


def test_who_stamps_times_vouches_for_nobody(home: Home, tmp_path: Path) -> None:
    path = tmp_path / "stamps.pem"
    path.write_bytes(certificates.Certificate.from_der(ROOT.by(ROOT)).pem)
    (given,) = authority.trust(home, path, time_stamps=True)
    assert identity.known(home) == ()
    assert authority.state(home, SETTINGS.identity).time_stamps == (given,)


def test_a_file_with_an_answer_makes_its_authority_known_alone(home: Home, tmp_path: Path) -> None:
    both = [certificates.Certificate.from_der(each) for each in (SIGNER.by(ROOT), ROOT.by(ROOT))]
    path = tmp_path / "answer.pem"
    path.write_bytes(certificates.pem_of(both))
    authority.trust(home, path, time_stamps=False)
    assert identity.known(home) == (both[1],)
    path.write_bytes(b"nothing")
    with pytest.raises(BadCertificate, match="no certificate"):
        authority.trust(home, path, time_stamps=False)


def test_a_name_that_cannot_be_asked_for(home: Home) -> None:
    with pytest.raises(BadValue):
        identity.ask_office(home, SETTINGS, None, "", "", home.root / "x.csr")
    assert list(home.identity.iterdir()) == []


def _ask(prompts: list[str]) -> Callable[[str], str]:
    """Answers every prompt with the passphrase, and notes it."""

    def ask(prompt: str) -> str:
        prompts.append(prompt)
        return "secret"

    return ask


def test_a_bad_name_is_told_before_a_passphrase_is_chosen(
    home: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv(passphrase.VARIABLE)
    asked: list[str] = []
    for attempt in (
        lambda: identity.create(home, _ask(asked), "", "Quillback", ""),
        lambda: identity.create(home, _ask(asked), "Imke Dorn", "", "no address"),
        lambda: identity.ask_office(home, SETTINGS, _ask(asked), "", "", home.root / "x.csr"),
        lambda: authority.found(home, " ", _ask(asked)),
    ):
        with pytest.raises(BadValue):
            attempt()
    assert asked == []


def test_one_key_in_the_settings(tmp_path: Path) -> None:
    path = tmp_path / "settings.toml"
    token = 'pkcs11 = {module = "/usr/lib/m.so", token = "Quillback"}'
    path.write_text(f"[identity]\n{token}\n")
    read = load(path).identity.pkcs11
    assert read == TokenSettings(module=Path("/usr/lib/m.so"), token="Quillback", label="")
    path.write_text(f'[identity]\n{token}\npkcs12 = "firm.p12"\n')
    with pytest.raises(BadSettings, match="give pkcs12 or pkcs11, not both"):
        load(path)


def test_a_copied_home_signs_as_before(home: Home, tmp_path: Path) -> None:
    made, _ = sign_in(home)
    shutil.copytree(home.root, tmp_path / "copy")
    assert sign_in(Home.open(tmp_path / "copy"))[0].certificate == made.certificate


def doctored(home: Home) -> doctor.Finding:
    return doctor._identity(home.root, SETTINGS)


def test_the_doctor_knows_the_key(home: Home, monkeypatch: pytest.MonkeyPatch) -> None:
    assert doctored(home).detail.startswith("not made yet")
    identity.ask_office(home, SETTINGS, None, "Imke Dorn", "", home.root / "x.csr")
    assert not doctored(home).ok
    (home.identity / identity.REQUEST_FILE).unlink()
    made, _ = sign_in(home)
    until = made.certificate.not_after
    assert doctored(home).detail == f"of Imke Dorn, until {until:%Y-%m-%d}"
    monkeypatch.setattr(profile, "TECHNICIAN_VALID_FOR", timedelta(hours=-1))
    identity.renew(home, SETTINGS, None, "", "")
    assert not doctored(home).ok
    assert doctored(home).mend == identity.RENEW
