"""Distributions: the probabilities and quantiles of the normal, t, chi-square and F distributions, from scipy.

Owns how they are loaded, and nothing else. Read ``adjustment`` next.
"""

from __future__ import annotations

import sys
import threading
from functools import cache
from importlib import import_module
from importlib.util import find_spec, module_from_spec
from types import ModuleType

__all__ = ["functions"]

_ASKED = ("ndtr", "ndtri", "stdtr", "stdtrit", "chdtri", "chdtrc", "fdtrc")


@cache
def functions() -> ModuleType:
    """The functions of ``scipy.special`` by their names there: ``ndtr``, ``stdtrit``, ``fdtrc`` and so on.

    The package loads most of NumPy and a framework of tests with it, which takes twice as long as NumPy itself. The
    functions are all in one compiled file of it, which is loaded alone where that can be done; else the whole package.
    """
    known = "scipy.special" in sys.modules or threading.active_count() > 1  # another thread might load it meanwhile
    found = None if known else _compiled()
    return import_module("scipy.special") if found is None else found


def _compiled() -> ModuleType | None:
    """The compiled file, imported from a package that has not run; None where it cannot be had so."""
    spec = find_spec("scipy.special")
    if spec is None:
        return None
    sys.modules["scipy.special"] = module_from_spec(spec)
    try:
        found = import_module("scipy.special._ufuncs")
    except (ImportError, AttributeError):
        return None
    finally:
        del sys.modules["scipy.special"]
    return found if all(hasattr(found, name) for name in _ASKED) else None
