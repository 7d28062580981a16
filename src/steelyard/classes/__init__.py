"""Classes: dataclasses whose methods cost next to nothing until they are called.

Owns that and nothing else. The standard library writes six methods of a frozen dataclass as text and compiles each when
the class is made; a process of ``findings`` has 150 such classes and took longer over them than over loading NumPy.
Here the fields are still the standard library's, so that ``fields``, ``replace`` and ``asdict`` work; the constructor
is written when the first object is made, and the other methods are not written but shared. Read ``names`` next.
"""

from __future__ import annotations

import operator
from collections.abc import Callable
from dataclasses import MISSING, Field, FrozenInstanceError, field, fields
from dataclasses import dataclass as standard
from reprlib import recursive_repr
from types import MemberDescriptorType
from typing import Any, TypeVar, dataclass_transform

__all__ = ["dataclass"]

_T = TypeVar("_T")
_Values = Callable[[object], tuple[object, ...]]


@dataclass_transform(field_specifiers=(field,))
def dataclass(
    *, frozen: bool = False, slots: bool = False, kw_only: bool = False, order: bool = False
) -> Callable[[type[_T]], type[_T]]:
    """Make a class a dataclass, as ``dataclasses.dataclass`` with the same arguments does.

    Three things differ: nothing can be assigned to an object of a frozen class, of a plain subclass neither; the
    signature of a constructor is known after the first object was made; and ``__dataclass_params__`` say that the
    standard library wrote no methods, for it did not. Where one class inherits from another, both are made here.
    """

    def finished(cls: type[_T]) -> type[_T]:
        made: type[Any] = standard(init=False, repr=False, eq=False, slots=slots, kw_only=kw_only)(cls)
        values = _values(tuple(one.name for one in fields(made) if one.compare))
        shared = {"__init__": _first(made, frozen=frozen), "__repr__": _shown, "__eq__": _equal(values)}
        shared |= _ordered(values) if order else {}
        added: dict[str, object] = {name: shared[name] for name in shared.keys() - made.__dict__.keys()}
        if made.__dict__.get("__hash__") is None:
            added["__hash__"] = _hash(values) if frozen else None
        if frozen:
            added |= {"__setattr__": _refuse, "__delattr__": _refuse}
        if frozen and slots:  # to be copied and sent to another process, for nothing can be assigned there
            added |= {"__getstate__": _state, "__setstate__": _restore}
        for name, method in added.items():
            setattr(made, name, method)
        return made

    return finished


def _first(cls: type[Any], *, frozen: bool) -> Callable[..., None]:
    """A constructor that writes the class's own one, which is there from then on."""

    def construct(self: object, *given: object, **named: object) -> None:
        cls.__init__ = _constructor(cls, frozen=frozen)
        cls.__init__(self, *given, **named)

    return construct


def _constructor(cls: type[Any], *, frozen: bool) -> Callable[..., None]:
    """The constructor: its parameters are the fields, and it assigns them in their order.

    A frozen object's slots are filled by their own descriptors, which is quicker than the way around its refusal.
    """
    used: dict[str, Any] = {"__missing": MISSING, "__assign": object.__setattr__}
    parameters: dict[bool, list[str]] = {False: ["self"], True: []}
    lines: list[str] = []
    for one in fields(cls):
        parameter, value = _taken(one, used)
        if one.init:
            parameters[bool(one.kw_only)].append(parameter)
        slot = getattr(cls, one.name, None)
        if value and frozen and isinstance(slot, MemberDescriptorType):
            used[f"__fill_{one.name}"] = slot.__set__
            lines.append(f"__fill_{one.name}(self, {value})")
        elif value:
            lines.append(f"__assign(self, {one.name!r}, {value})" if frozen else f"self.{one.name} = {value}")
    if hasattr(cls, "__post_init__"):
        lines.append("self.__post_init__()")
    named = ["*", *parameters[True]] if parameters[True] else []
    head = f"def __init__({', '.join([*parameters[False], *named])}):\n "
    exec(head + "\n ".join(lines or ["pass"]), used)  # noqa: S102 - names of fields, which are identifiers
    made: Callable[..., None] = used["__init__"]
    made.__qualname__ = f"{cls.__qualname__}.__init__"
    return made


def _taken(one: Field[Any], used: dict[str, Any]) -> tuple[str, str]:
    """A field as a parameter of the constructor, and the expression for its value; what they use goes to ``used``."""
    name, make, default = one.name, f"__make_{one.name}", f"__default_{one.name}"
    if one.default_factory is not MISSING:
        used[make] = one.default_factory
        return f"{name}=__missing", f"{make}() if {name} is __missing else {name}" if one.init else f"{make}()"
    if one.default is not MISSING:
        used[default] = one.default
        return f"{name}={default}", name if one.init else default
    return name, name if one.init else ""


def _values(names: tuple[str, ...]) -> _Values:
    """A function that takes an object apart into the values of these fields."""
    if len(names) > 1:
        return operator.attrgetter(*names)
    return lambda taken: tuple(getattr(taken, name) for name in names)


def _equal(values: _Values) -> Callable[..., Any]:
    def equal(self: object, other: object) -> bool:
        return values(self) == values(other) if other.__class__ is self.__class__ else NotImplemented

    return equal


def _hash(values: _Values) -> Callable[..., int]:
    def hashed(self: object) -> int:
        return hash(values(self))

    return hashed


def _ordered(values: _Values) -> dict[str, Callable[..., Any]]:
    """The four comparisons of size, of the values one after the other."""

    def by(compare: Callable[[object, object], bool]) -> Callable[..., bool]:
        def compared(self: object, other: object) -> bool:
            return compare(values(self), values(other)) if other.__class__ is self.__class__ else NotImplemented

        return compared

    return {f"__{name}__": by(getattr(operator, name)) for name in ("lt", "le", "gt", "ge")}


@recursive_repr()
def _shown(self: Any) -> str:
    told = ", ".join(f"{one.name}={getattr(self, one.name)!r}" for one in fields(self) if one.repr)
    return f"{self.__class__.__qualname__}({told})"


def _refuse(self: object, name: str, *value: object) -> None:
    del self
    raise FrozenInstanceError(f"cannot {'assign to' if value else 'delete'} field {name!r}")


def _state(self: Any) -> list[object]:
    return [getattr(self, one.name) for one in fields(self)]


def _restore(self: Any, state: list[object]) -> None:
    for one, value in zip(fields(self), state, strict=True):
        object.__setattr__(self, one.name, value)
