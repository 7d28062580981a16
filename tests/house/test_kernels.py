"""The documents say the same whatever the processor multiplies with.

The library of linear algebra has a kernel for each family of processors, and the last bits of a product differ between
them. The documents' tests run here once more, in a process of their own with the plainest kernel there is (SSE3, which
every x86-64 processor has; other processors ignore the variable). ``make kernels`` runs them with several.
"""

from __future__ import annotations

import os
import subprocess
import sys

from tests.house.source import ROOT


def test_the_documents_print_the_same_with_another_kernel() -> None:
    command = [sys.executable, "-m", "pytest", "-q", "-x", "-p", "no:cacheprovider", "-p", "no:xdist"]
    chosen = ["tests/house/test_tutorial.py", "-k", "commands_of_a_document"]
    done = subprocess.run(
        [*command, *chosen],
        cwd=ROOT,
        env=os.environ | {"OPENBLAS_CORETYPE": "Prescott", "PYTEST_ADDOPTS": ""},
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        encoding="utf-8",
        check=False,
    )
    assert done.returncode == 0, done.stdout
