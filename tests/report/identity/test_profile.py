"""What stands in the certificates that an authority makes."""

from datetime import UTC, datetime, timedelta

import pytest
from cryptography import x509
from cryptography.x509.oid import ExtendedKeyUsageOID

from recorder.errors import BadValue
from recorder.report.identity import profile
from tests.report.identity.certs import KEYS


def root_of(firm: str, demo: bool = False) -> x509.Certificate:
    return profile.authority(KEYS[0], firm, demo)


def signer_of(root: x509.Certificate, name: str, email: str = "") -> x509.Certificate:
    return profile.technician(KEYS[1].public_key(), name, email, root, KEYS[0])


@pytest.fixture(scope="module")
def root() -> x509.Certificate:
    return root_of("Quillback Belt Service")


def test_the_authority_names_firm_and_year(root: x509.Certificate) -> None:
    year = datetime.now(UTC).year
    name = root.subject.rfc4514_string()
    assert name == f"CN=Quillback Belt Service authority {year},O=Quillback Belt Service"
    assert root.issuer == root.subject


def test_the_authority_lasts(root: x509.Certificate) -> None:
    assert root.not_valid_after_utc > datetime.now(UTC) + timedelta(days=19 * 365)
    assert root.not_valid_before_utc < datetime.now(UTC) - timedelta(hours=23)


def test_a_signer_takes_the_firm_of_its_authority(root: x509.Certificate) -> None:
    made = signer_of(root, "Imke Dorn", " imke@quillback.example ")
    assert made.subject.rfc4514_string() == "CN=Imke Dorn,O=Quillback Belt Service"
    names = made.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    assert names.get_values_for_type(x509.RFC822Name) == ["imke@quillback.example"]
    extended = made.extensions.get_extension_for_class(x509.ExtendedKeyUsage).value
    assert set(extended) == {ExtendedKeyUsageOID.EMAIL_PROTECTION, profile.DOCUMENT_SIGNING}


def test_a_signer_ends_with_its_authority(
    root: x509.Certificate, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(profile, "TECHNICIAN_VALID_FOR", timedelta(days=40 * 365))
    assert signer_of(root, "Imke Dorn").not_valid_after_utc == root.not_valid_after_utc


def test_a_demo_authority_says_so_of_all() -> None:
    root = root_of("Quillback Belt Service", demo=True)
    assert root.subject.rfc4514_string().startswith("CN=DEMO Quillback Belt Service authority")
    for name in ("Imke Dorn", "DEMO Imke Dorn"):
        made = signer_of(root, name)
        assert made.subject.rfc4514_string() == ("CN=DEMO Imke Dorn,O=DEMO\\, not for real work")


def test_a_name_that_only_begins_like_demo_is_none(root: x509.Certificate) -> None:
    name = signer_of(root, "DEMOSTHENES Pell").subject.rfc4514_string()
    assert name == "CN=DEMOSTHENES Pell,O=Quillback Belt Service"


@pytest.mark.parametrize("demo", [True, False])
def test_long_and_hostile_names_fit_a_certificate(demo: bool) -> None:
    root = root_of("Ö" * 200, demo)
    (name,) = root.subject.get_attributes_for_oid(x509.NameOID.COMMON_NAME)
    assert str(name.value).endswith(f"Ö authority {datetime.now(UTC).year}")
    made = signer_of(root_of("Firm\n/CN=evil\x1b"), "Ö" * 200)
    assert made.subject.rfc4514_string() == f"CN={'Ö' * 32},O=Firm /CN=evil"


@pytest.mark.parametrize("name", ["", "  ", "\x00\n"])
def test_a_name_is_needed(root: x509.Certificate, name: str) -> None:
    with pytest.raises(BadValue, match="a firm's name"):
        root_of(name)
    with pytest.raises(BadValue, match="a signer's name"):
        signer_of(root, name)


@pytest.mark.parametrize("email", ["imke", "a@b", "ö@firm.example", "a@b.c\nx", "@b.c", "a" * 300])
def test_no_email(root: x509.Certificate, email: str) -> None:
    with pytest.raises(BadValue, match="e-mail"):
        signer_of(root, "Imke Dorn", email)
