"""seamnote identity: what it prints, and what it refuses."""

import json
import os
from pathlib import Path

import pytest

from recorder.cli import main
from recorder.report.identity import keyfile, passphrase, profile


@pytest.fixture(autouse=True)
def _quickly(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(profile, "KEY_BITS", 2048)
    monkeypatch.setattr(keyfile, "KDF_ROUNDS", 1000)
    monkeypatch.setenv(passphrase.VARIABLE, "secret")
    monkeypatch.setenv("SEAMNOTE_HOME", str(tmp_path / "home"))
    monkeypatch.chdir(tmp_path)


def said(capsys: pytest.CaptureFixture[str], *arguments: str, code: int = 0) -> str:
    """What a command prints, after its exit code was the expected one."""
    ended = main(["identity", *arguments])
    out, err = capsys.readouterr()
    assert ended == code, err
    assert "Traceback" not in err
    return out + err


def test_from_the_first_key_to_the_customer(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    assert "none yet; the first 'seamnote report' makes a key" in said(capsys)
    made = said(
        capsys, "create", "--name", "Imke Dorn", "--firm", "Quillback Belt Service",
        "--email", "imke@quillback.example",
    )  # fmt: skip
    assert "Signer         Imke Dorn, Quillback Belt Service, imke@quillback.example\n" in made
    assert "Authority      Quillback Belt Service authority 20" in made
    shown = said(capsys)
    assert made.splitlines()[2] in shown, "the fingerprint"
    assert "its key is in this home" in shown
    exported = json.loads(said(capsys, "export", "firm.pem", "--json").splitlines()[0])
    assert exported["authority"] is True

    monkeypatch.setenv("SEAMNOTE_HOME", str(tmp_path / "customer"))
    trusted = said(capsys, "trust", "firm.pem")
    assert trusted.startswith("Trusted        Quillback Belt Service authority 20")
    state = json.loads(said(capsys, "--json"))
    assert [each["fingerprint"] for each in state["known"]] == [exported["fingerprint"]]
    assert state["signer"] is None
    assert "Stamps times   Quillback" in said(capsys, "trust", "firm.pem", "--time-stamps") + said(
        capsys
    )


def test_both_sides_of_a_request_show_the_same_key(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    asked = said(capsys, "request", "imke.csr", "--name", "Imke Dorn").splitlines()
    assert asked[0] == "Request        imke.csr, for Imke Dorn"
    assert "a request waits for the office" in said(capsys)
    monkeypatch.setenv("SEAMNOTE_HOME", str(tmp_path / "office"))
    said(capsys, "create", "--authority-only", "--firm", "Quillback")
    issued = said(capsys, "issue", "imke.csr").splitlines()
    assert issued[:2] == [
        "Issued         imke-certificate.pem",
        "               for Imke Dorn, Quillback",
    ]
    assert issued[2] == asked[1]
    monkeypatch.setenv("SEAMNOTE_HOME", str(tmp_path / "home"))
    assert "Signer         Imke Dorn, Quillback\n" in said(
        capsys, "install", "imke-certificate.pem"
    )
    elsewhere = said(capsys, "renew", code=3)
    assert "run 'seamnote identity request FILE' and have your office issue it" in elsewhere
    renewed = said(capsys, "request", "again.csr", "--json").splitlines()[0]
    assert json.loads(renewed)["name"] == "Imke Dorn"


@pytest.mark.parametrize(
    ("arguments", "code", "why"),
    [
        (("export",), 2, "export needs a FILE"),
        (("renew", "x"), 2, "renew takes no FILE"),
        (("revoke",), 2, "invalid choice"),
        (("create", "--firm", "Quillback"), 2, "a signer's name; set [report] technician"),
        (("create", "--authority-only"), 2, "a firm's name; set [report] firm"),
        (("create", "--name", "Imke", "--email", "imke"), 2, "an e-mail address"),
        (("export", "firm.pem"), 3, "run 'seamnote identity create'"),
        (("trust", "none.pem"), 3, "none.pem does not exist"),
        (("issue", "."), 3, "not a regular file"),
        (("trust", os.devnull), 3, "not a regular file"),
        (("request", "nowhere/imke.csr", "--name", "Imke"), 3, "cannot be written"),
    ],
)
def test_what_is_refused_in_one_line(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, arguments: tuple[str, ...], code: int,
    why: str,
) -> None:  # fmt: skip
    (line,) = said(capsys, *arguments, code=code).splitlines()
    assert why in line
    assert not list(tmp_path.rglob("*.p12")), "no key is left behind"
