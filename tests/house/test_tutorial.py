"""What the documents show is what the program prints."""

from __future__ import annotations

import difflib
import os
import subprocess
import sys
from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest

from docs.console import ROOT, Shown, agrees, blocks, fresh, play, prepare, renew, run, shown
from docs.generate import documents

WITH_COMMANDS = [path for path in documents() if "```console" in path.read_text(encoding="utf-8")]


Played = Callable[[Path], tuple[Path, list[tuple[Shown, str]]]]


@pytest.fixture(scope="module")
def played(tmp_path_factory: pytest.TempPathFactory) -> Played:
    """Plays a document, once for all tests of it: the folder with what its blocks left there, and what they printed."""

    @cache
    def folder_and_output(path: Path) -> tuple[Path, list[tuple[Shown, str]]]:
        folder = tmp_path_factory.mktemp(path.stem)
        return folder, list(play(path.read_text(encoding="utf-8"), folder))

    return folder_and_output


@pytest.mark.parametrize("path", WITH_COMMANDS, ids=lambda path: str(path.relative_to(ROOT)))
def test_the_commands_of_a_document_print_what_it_shows(path: Path, played: Played) -> None:
    _, outputs = played(path)
    assert outputs
    for item, printed in outputs:
        assert "internal error" not in printed
        assert agrees(item.output, printed), stale(item, printed)


def test_a_command_prints_in_this_process_what_the_shell_would_see(tmp_path: Path) -> None:
    """Findings on standard output, what is wrong with the next file on standard error, in this order."""
    prepare(tmp_path)
    (tmp_path / "bad.toml").write_text("format = 2\n", encoding="utf-8")
    command = "steelyard findings examples/quay-bakery-slip.toml bad.toml"
    environment = os.environ | {"PYTHONPATH": str(ROOT / "src"), "PYTHONIOENCODING": "utf-8", "COLUMNS": "80"}
    done = subprocess.run(
        [sys.executable, "-m", *command.split(" ")],
        cwd=tmp_path,
        env=environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        encoding="utf-8",
        check=False,
    )
    assert done.returncode == 2
    assert "bad.toml" in done.stdout.splitlines()[-1]
    assert run(command, tmp_path) == done.stdout


def stale(item: Shown, printed: str) -> str:
    """What is shown and is not printed any more, and the reverse."""
    lines = difflib.unified_diff(
        item.output.splitlines(), fresh(item.output, printed).splitlines(), "shown", "printed", lineterm="", n=1
    )
    return "\n".join([f"$ {item.command}", *lines, "If what is printed is right: make docs"])


def test_the_tutorial_writes_a_file_and_asks_for_its_findings() -> None:
    found = list(blocks((ROOT / "README.md").read_text(encoding="utf-8")))
    files = [block.file for block in found if block.file is not None]
    asked = [item.command for block in found if block.info == "console" for item in shown(block)]
    assert files
    assert any(f"steelyard findings {file}" in asked for file in files)


def test_the_file_of_the_tutorial_is_among_the_examples() -> None:
    (text,) = [block.text for block in blocks((ROOT / "README.md").read_text(encoding="utf-8")) if block.file]
    assert (ROOT / "examples" / "hives.toml").read_text(encoding="utf-8") == text


DOCUMENT = """
```toml file=a.toml
format = 1
```

1. Then

   ```console
   $ steelyard --version
   steelyard 0
   $ steelyard check a.toml
   …
   ```
"""


def test_blocks_are_found_with_their_commands() -> None:
    first, second = blocks(DOCUMENT)
    assert (first.file, first.text) == ("a.toml", "format = 1\n")
    assert list(shown(second)) == [
        Shown("steelyard --version", "steelyard 0\n"),
        Shown("steelyard check a.toml", "…\n"),
    ]


def test_a_block_is_added_to_the_end_of_a_file(tmp_path: Path) -> None:
    whole, more = "```toml file=a.toml\nformat = 1\n```\n", "```toml more=a.toml\ntitle = 'more'\n```\n"
    text = f"{whole}{more}```console\n$ steelyard --version\n…\n```\n"
    assert len(list(play(text, tmp_path))) == 1
    assert (tmp_path / "a.toml").read_text(encoding="utf-8") == "format = 1\n\ntitle = 'more'\n"


def test_a_stale_output_is_seen_and_renewed(tmp_path: Path) -> None:
    stale = "```console\n$ steelyard --version\nsteelyard 0\n```\n"
    ((item, printed),) = play(stale, tmp_path / "a")
    assert not agrees(item.output, printed)
    renewed = renew(stale, tmp_path / "b")
    assert renewed == f"```console\n$ steelyard --version\n{printed.strip()}\n```\n"
    ((item, printed),) = play(renewed, tmp_path / "c")
    assert agrees(item.output, printed)


def test_an_elided_output_is_renewed_passage_by_passage(tmp_path: Path) -> None:
    stale = "   ```console\n   $ steelyard --help\n   Usage: steelyard 12\n   …\n   Commands 3:\n   …\n   ```\n"
    renewed = renew(stale, tmp_path / "a")
    lines = [line.strip() for line in renewed.splitlines()]
    assert lines[2].startswith("Usage: steelyard [OPTIONS]")
    assert lines[3:6] == ["…", "Commands:", "…"]
    assert [line for line in renewed.splitlines() if not line.startswith("   ")] == []
    ((item, printed),) = play(renewed, tmp_path / "b")
    assert agrees(item.output, printed)


def test_the_fingerprint_of_a_new_key_is_another_each_time() -> None:
    shown = "key 60423f1d 736be374 c4f01d58 8a231506 of Marta"
    assert agrees(shown, "key 17b6c000 4697aec7 020e8679 98f2fe18 of Marta")
    assert not agrees(shown, "key 17b6c000 4697aec7 020e8679 of Marta")
    assert not agrees(shown, "key 17b6c000 4697aec7 020e8679 98f2fe18 of Otto")


def test_moving_the_hives_back_does_what_the_tutorial_says(tmp_path: Path) -> None:
    text = next(block.text for block in blocks((ROOT / "README.md").read_text(encoding="utf-8")) if block.file)
    assert text.count("x = 2400\n") == 1
    (tmp_path / "hives.toml").write_text(text.replace("x = 2400\n", "x = 2700\n"), encoding="utf-8")
    assert "undecided" not in run("steelyard findings hives.toml", tmp_path)


def test_only_the_programs_own_commands_are_run(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="not 'rm -r x'"):
        list(play("```console\n$ rm -r x\n```\n", tmp_path))


@pytest.mark.parametrize(
    ("expected", "printed", "same"),
    [
        ("a\nb\n", "a\nb", True),
        ("a\nb\n", "a\nc", False),
        ("a\n…\nd", "a\nb\nc\nd", True),
        ("a\n…\nd", "a\nd", False),
        ("a\n…", "a\nb\n", True),
        ("a (1)", "a (1)", True),
        ("a.1", "ax1", False),
        ("a\n\nb", "a\nb", False),
        ("axle 1  64.0 to 1,250", "axle 1  63.9 to 1,251", True),
        ("axle 1  64.0", "axle 1  63.8", False),
        ("axle 1  64.0", "axle 1  64", False),
        ("axle 1", "axle 2", False),
        ("a\n…\nb 64.0", "a\nx 1.5\nb 63.9", True),
        ("±0.50", "±0.05", False),
    ],
)
def test_an_output_agrees_to_the_last_place_and_an_elision_stands_for_lines(
    expected: str, printed: str, same: bool
) -> None:
    assert agrees(expected, printed) is same


HOW_TO = sorted((ROOT / "docs" / "how-to").rglob("*.md"))
PAGES = pytest.mark.parametrize("path", HOW_TO, ids=lambda path: path.stem)


@PAGES
def test_every_block_of_a_how_to_page_runs_from_a_fresh_shell(path: Path, tmp_path: Path, played: Played) -> None:
    """A block is a file, or goes to the end of one that the page has, or is commands; what it makes can be read."""
    files: set[str] = set()
    text = path.read_text(encoding="utf-8")
    for block in blocks(text):
        before = text[: block.start].rsplit("```", 1)[0].rstrip().rsplit("\n\n", 1)[-1]
        name = block.file or block.more
        if name is not None:
            assert f"`{name}`" in before, f"the words above a block do not say that it is {name}: {before}"
            assert block.file or name in files, f"{name} is not there yet"
            files.add(name)
        elif block.info == "console":
            files.update(item.command.split()[2] for item in shown(block) if item.command.startswith("cp "))
        elif block.info == "sql":
            assert block.text.startswith("SELECT"), block.text  # it is asked where the page is played
        elif block.info == "text":
            continue  # of other programs: test_shell_blocks sees that no command of this one is among them
        else:
            assert block.info == "sh", f"what is a reader to do with this? {block.text}"
            for line in block.text.splitlines():
                if line.startswith(("dask scheduler ", "dask worker ")):
                    continue  # they do not end by themselves either, and are read in test_shell_blocks.py
                assert line.startswith("steelyard serve"), "only what does not end by itself is not run here"
                assert run(f"{line} --help", tmp_path).startswith("Usage: steelyard serve"), line
    folder, _ = played(path)
    for name in files:
        if '\nkind = "rules"\n' in (folder / name).read_text(encoding="utf-8"):
            listed = run(f"steelyard rules --rules {name}", folder)
            assert "(from your file)" in listed, listed
            continue
        printed = run(f"steelyard check {name}", folder)
        assert printed.startswith(f"{name}: sound"), printed
