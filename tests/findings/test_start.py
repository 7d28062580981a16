"""What a process of ``findings`` loads at its start: no more than the answer needs."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner
from scipy import special

from steelyard import distributions
from steelyard.cli import cli
from steelyard.distributions import functions
from tests.waiting import PATIENCE

EXAMPLE = Path(__file__).parents[2] / "examples" / "quay-bakery.toml"
NEEDLESS = (
    *("scipy.special", "scipy.optimize", "numpy.testing", "multiprocessing", "concurrent.futures", "tree_sitter"),
    *("steelyard.loading", "steelyard.planning.planner", "steelyard.dayfile.write", "steelyard.model.verification"),
    *(
        "steelyard.questions.findings",
        "steelyard.report",
        "steelyard.web",
        "steelyard.store",
        "sqlalchemy",
        "jinja2",
        "pyarrow",
        "unittest",
    ),
    *("steelyard.requirements.road", "steelyard.dayfile.rule_sets.reader", "steelyard.findings.axle_groups"),
    *("steelyard.model.digest", "steelyard.dayfile.photographs.beside"),
    *("steelyard.adjustment.misfit.hypotheses", "steelyard.adjustment.misfit.trials", "steelyard.adjustment.several"),
    *("scipy", "scipy._lib", "tomllib", "subprocess", "pathlib", "hashlib", "fractions", "shutil"),
)
PROGRAM = """
import contextlib, io, sys
from steelyard.cli import cli
cli(["findings", "--json", sys.argv[1]], standalone_mode=False)
loaded = " ".join(sys.modules)
with contextlib.redirect_stdout(io.TextIOWrapper(io.BytesIO())):
    cli(["findings", sys.argv[1]], standalone_mode=False)
ours = [module for name, module in sys.modules.items() if name.partition(".")[0] == "steelyard"]
kinds = {kind for module in ours for kind in vars(module).values() if isinstance(kind, type)}
made = {kind for kind in kinds if hasattr(kind, "__dataclass_params__")}
from steelyard.distributions import functions
print(float(functions().stdtr(3.5, -2.0)), float(functions().fdtrc(4.0, 9.0, 1.5)))
from scipy import special  # the whole package is there for whoever asks for it
print(special.logsumexp([0.0, 0.0]), special.stdtr is functions().stdtr)
from scipy import LowLevelCallable, integrate  # what its compiled files share works too
print(integrate.quad(float, 0.0, 1.0)[0], LowLevelCallable.__name__)
print(loaded)
print(" ".join(sorted(kind.__name__ for kind in made)))
print(" ".join(sorted(kind.__name__ for kind in made if kind.__dataclass_params__.init)))
"""


def test_findings_load_no_more_than_they_need_and_answer_the_same() -> None:
    command = [sys.executable, "-c", PROGRAM, str(EXAMPLE)]
    done = subprocess.run(command, capture_output=True, text=True, check=True, timeout=PATIENCE)
    answer, chances, whole, others, loaded, classes, slow = done.stdout.split("\n")[:-1]
    assert [name for name in NEEDLESS if name in loaded.split()] == []
    assert {"WeighDay", "Findings", "Verdict"} <= set(classes.split())
    assert slow == "", "take ``dataclass`` from steelyard.classes there, which is quicker to load"
    assert answer == CliRunner().invoke(cli, ["findings", "--json", str(EXAMPLE)]).output.strip()
    assert chances == f"{float(special.stdtr(3.5, -2.0))} {float(special.fdtrc(4.0, 9.0, 1.5))}"
    assert whole == f"{float(special.logsumexp([0.0, 0.0]))} True"
    assert others == "0.5 LowLevelCallable"


def test_the_functions_are_there_where_their_file_cannot_be_loaded_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(distributions, "_ASKED", ("no_such_function",))
    monkeypatch.delitem(sys.modules, "scipy.special")
    functions.cache_clear()
    try:
        assert float(functions().ndtr(0.0)) == 0.5
    finally:
        monkeypatch.undo()
        functions.cache_clear()
