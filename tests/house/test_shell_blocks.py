"""Shell blocks of the documents run when pasted, in order, from a fresh shell in the project's folder."""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
from importlib import import_module
from pathlib import Path
from urllib.parse import urlsplit

import httpx2
import pytest
from click.testing import CliRunner
from starlette.testclient import TestClient

from docs.console import ROOT, blocks
from docs.generate import documents
from steelyard import __version__
from steelyard.cli import cli
from steelyard.web import Ready

KINDS = {"", "text", "json", "console", "sh", "sql"}
PAGES = [*documents(), ROOT / "CONTRIBUTING.md"]
SETTING_UP = re.compile(r"^python3 -m venv", re.MULTILINE)


def shell_blocks(page: Path) -> list[str]:
    """The text of the shell blocks of a page."""
    return [block.text for block in blocks(page.read_text(encoding="utf-8")) if block.info == "sh"]


def commands(text: str) -> list[list[str]]:
    """The commands of a shell block as words, without comments; a backslash at the end of a line goes on."""
    lines = text.replace("\\\n", " ").splitlines()
    return [words for line in lines if (words := shlex.split(line, comments=True))]


WITH_SHELL = [page for page in PAGES if shell_blocks(page)]


def ordinary(page: Path) -> list[list[str]]:
    """The commands of a page but for those that set the program up, which have a test of their own."""
    return [words for text in shell_blocks(page) if not SETTING_UP.search(text) for words in commands(text)]


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(ROOT)))
def test_every_block_is_of_a_kind_that_is_tested(page: Path) -> None:
    """A command outside a fence, or in a fence of another kind, would be played by nobody."""
    text = page.read_text(encoding="utf-8")
    for block in blocks(text):
        if block.info not in KINDS:
            assert block.file is not None or block.more is not None, f"{block.info!r} names no file"
        elif block.info in ("", "text") and page.name != "commands.md":
            assert not re.search(r"^\$? ?(steelyard|make) ", block.text, re.MULTILINE), block.text
    assert not re.search(r"^    \$? ?(steelyard|make|pip|python3?) .*$", unfenced(text), re.MULTILINE)


def unfenced(text: str) -> str:
    """A document without its fenced blocks."""
    return re.sub(r"^ *```.*?^ *```$", "", text, flags=re.MULTILINE | re.DOTALL)


@pytest.mark.parametrize("page", WITH_SHELL, ids=lambda page: str(page.relative_to(ROOT)))
def test_its_commands_are_there_and_take_these_words(
    page: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    served: list[Ready] = []

    def come_up(ready: Ready) -> None:
        served.append(ready)

    monkeypatch.setattr(Ready, "serve", come_up)
    monkeypatch.chdir(ROOT)
    for number, words in enumerate(ordinary(page)):
        if words[0] == "make":
            dry = subprocess.run(["make", "--dry-run", *words[1:]], capture_output=True, text=True, check=False)
            assert dry.returncode == 0, dry.stderr
        elif words[0] == "curl":
            assert sent(words, served[-1]).status_code == 201
        elif words[0] == "dask":
            shown_to_nobody(words)
        else:
            assert words[:2] == ["steelyard", "serve"], f"nobody plays {shlex.join(words)}"
            own = ["--store", str(tmp_path / f"{number}.db"), "--port", "0"]
            done = CliRunner().invoke(cli, [*words[1:], *own])
            assert done.exit_code == 0, done.output
            assert "The weigh station is at http" in done.output
    assert served or page.name in ("README.md", "several-machines.md")
    for ready in served:
        for listener, _ in ready.listeners:
            listener.close()
        ready.station.store.close()


def shown_to_nobody(words: list[str]) -> None:
    """See that Dask takes these words, and shows its pages to its own machine at most."""
    main = import_module(f"distributed.cli.dask_{words[1]}").main
    options = main.make_context(words[1], words[2:]).params
    assert options["dashboard"] is False
    assert options["dashboard_address"].startswith("127.0.0.1:")


def sent(words: list[str], ready: Ready) -> httpx2.Response:
    """The answer of a station to a request that a page shows as ``curl -H HEADER --data-binary @FILE ADDRESS``."""
    program, header_option, header, data_option, file, address = words
    assert [program, header_option, data_option] == ["curl", "-H", "--data-binary"]
    name, _, value = header.partition(": ")
    url = urlsplit(address)
    with TestClient(ready.app, base_url=f"{url.scheme}://{url.netloc}", client=("127.0.0.1", 50000)) as client:
        return client.post(url.path, content=Path(file.removeprefix("@")).read_bytes(), headers={name: value})


def test_the_readme_leads_from_nothing_to_the_command(tmp_path: Path) -> None:
    """A real shell and a real environment; only the installation is played, since it asks the package index."""
    (text,) = [text for text in shell_blocks(ROOT / "README.md") if SETTING_UP.search(text)]
    stand_ins = tmp_path / "stand-ins"
    stand_ins.mkdir()
    python = stand_ins / "python3"
    python.write_text(
        f'#!/bin/sh\nset -e\n[ "$1 $2" = "-m venv" ]\n"{sys.executable}" -m venv --without-pip "$3"\n'
        f'for site in "$3"/lib/python3*/site-packages; do cp "{stand_ins}/pip.py" "$site"; done\n'
    )
    (stand_ins / "pip.py").write_text(
        "import os, pathlib, sys\n"
        "assert sys.argv[1:] == ['install', '.'], sys.argv\n"
        "program = pathlib.Path(sys.prefix, 'bin', 'steelyard')\n"
        f"program.write_text('#!/bin/sh\\nPYTHONPATH={ROOT / 'src'} exec {sys.executable} -m steelyard \"$@\"\\n')\n"
        "program.chmod(0o755)\n"
    )
    python.chmod(0o755)
    path = f"{stand_ins}{os.pathsep}/usr/bin{os.pathsep}/bin"
    folder = tmp_path / "fresh"
    folder.mkdir()
    done = subprocess.run(
        ["sh", "-e", "-c", f"{text}\n.venv/bin/steelyard --version\n"],
        cwd=folder,
        env={"PATH": path, "HOME": str(tmp_path)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.splitlines() == [f"steelyard {__version__}"] * 2
