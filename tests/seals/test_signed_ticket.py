"""``steelyard ticket --sign-with``: the ways to the pass phrase, and one message for what cannot sign."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from tests.cli.days import NURSERY, run
from tests.seals.certificates import PHRASE, owner, p12, signature_of


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder to work in, with a day and a certificate that is valid in any year of these tests."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("STEELYARD_SIGN_PHRASE", raising=False)
    (tmp_path / "day.toml").write_text(NURSERY, encoding="utf-8")
    (tmp_path / "own.p12").write_bytes(p12(owner(years=(2000, 2999))))
    (tmp_path / "phrase").write_bytes(PHRASE + b"\n")
    (tmp_path / "phrase").chmod(0o600)
    return tmp_path


def test_the_ticket_is_signed_and_is_the_plain_one_up_to_the_signature(folder: Path) -> None:
    done = run("ticket", "day.toml", "--no-pictures", "--sign-with", "own.p12", "--sign-phrase-file", "phrase")
    assert (done.exit_code, done.stdout, done.stderr) == (0, "day.pdf\n", "")
    signed = (folder / "day.pdf").read_bytes()
    assert run("ticket", "day.toml", "--no-pictures", "-o", "plain.pdf").exit_code == 0
    assert signed.startswith((folder / "plain.pdf").read_bytes())
    assert signature_of(signed).self_reported_timestamp is not None
    assert signature_of(signed).signer_cert.subject.native["common_name"] == "A. Weigher"


def test_the_pass_phrase_may_stand_in_a_variable_or_be_typed(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Only as far as the key is opened: the ticket itself is the same."""
    monkeypatch.setattr("steelyard.cli.commands.ticket.ticket_pdf", lambda *_, **__: _blank())
    monkeypatch.setenv("STEELYARD_SIGN_PHRASE", PHRASE.decode())
    assert run("ticket", "day.toml", "--sign-with", "own.p12").exit_code == 0
    assert b"/ETSI.CAdES.detached" in (folder / "day.pdf").read_bytes()
    (folder / "day.pdf").unlink()
    monkeypatch.delenv("STEELYARD_SIGN_PHRASE")
    monkeypatch.setattr("steelyard.cli.weighers._terminal", lambda: True)
    monkeypatch.setattr("click.prompt", lambda *_, **__: PHRASE.decode())
    assert run("ticket", "day.toml", "--sign-with", "own.p12").exit_code == 0
    assert b"/ETSI.CAdES.detached" in (folder / "day.pdf").read_bytes()


def _blank() -> bytes:
    from tests.seals.certificates import blank_pdf

    return blank_pdf()


@pytest.mark.parametrize(
    ("options", "message"),
    [
        (["--sign-with", "none.p12"], "none.p12: cannot be read: No such file"),
        (["--sign-with", "."], ".: cannot be read: Is a directory"),
        (["--sign-with", "day.toml"], "day.toml: is not a PKCS #12 file"),
        (["--sign-with", "own.p12", "--sign-phrase-file", "wrong"], "own.p12: cannot be opened: the pass phrase is"),
        (["--sign-with", "own.p12", "--sign-phrase-file", "none"], "none: "),
        (["--sign-with", "own.p12"], "give it with --sign-phrase-file FILE or in the variable STEELYARD_SIGN_PHRASE"),
        (["--sign-with", "old.p12", "--sign-phrase-file", "phrase"], "old.p12: has a certificate that is valid from"),
        (["--sign-with", "own.p12", "-o", "own.p12"], "own.p12: is the file to write too"),
        (["--sign-with", ""], "is an empty name"),
        (["--sign-phrase-file", "phrase"], "--sign-phrase-file goes with --sign-with"),
    ],
    ids=str,
)
def test_what_cannot_sign_is_one_message_and_nothing_is_written(
    folder: Path, monkeypatch: pytest.MonkeyPatch, options: list[str], message: str
) -> None:
    monkeypatch.setattr("steelyard.cli.weighers._terminal", lambda: False)
    (folder / "wrong").write_text("something else\n")
    (folder / "wrong").chmod(0o600)
    (folder / "old.p12").write_bytes(p12(owner(years=(2000, 2001))))
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    done = run("ticket", "day.toml", *options)
    assert (done.exit_code, done.stdout) == (2, "")
    assert message in done.stderr
    assert "Traceback" not in done.stderr
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before


def test_a_missing_library_is_one_message_that_names_the_extra(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "pyhanko.sign", None)
    done = run("ticket", "day.toml", "--sign-with", "own.p12", "--sign-phrase-file", "phrase")
    assert (done.exit_code, done.stdout) == (2, "")
    assert done.stderr == "a signature on a PDF needs the extra of that name: pip install 'steelyard[pdf-signature]'\n"
    assert not (folder / "day.pdf").exists()
