"""`dataclass(frozen=True)` that costs a fifth as much to define, for the records handed from stage
to stage.

The standard library writes and compiles six methods for every frozen dataclass; with the hundreds
of this package that takes a good part of a whole command. Here only `__init__` is written for each
class, when the first record of it is made, and the other methods are shared. The outcome is a
dataclass to `replace`, `fields`, `asdict` and the type checker alike.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, NoReturn, TypeVar

__all__ = ["copied", "dataclass"]

Record = TypeVar("Record")

if TYPE_CHECKING:
    from dataclasses import dataclass
else:

    def dataclass(*, frozen: bool) -> Callable[[type], type]:
        """Make a class a frozen dataclass, compared, hashed and shown by its fields.

        Raises TypeError for `frozen=False`: what changes is a dataclass of the standard library.
        """
        if not frozen:
            raise TypeError("for a record that changes use the dataclass of the standard library")
        return _made


def _made(cls: type) -> Any:
    own_names = vars(cls)
    if own_names.keys() & _SHARED.keys() or any(_is_special(value) for value in own_names.values()):
        return dataclasses.dataclass(frozen=True)(
            cls
        )  # a method of its own, a field apart: the library knows how
    record: Any = dataclasses.dataclass(init=False, repr=False, eq=False)(cls)
    record.__init__ = _init_once_needed(record)
    for name, method in _SHARED.items():
        setattr(record, name, method)
    return record


def _is_special(value: object) -> bool:
    """A field that is more than a default made anew."""
    return isinstance(value, dataclasses.Field) and (
        value.default_factory is dataclasses.MISSING
        or not (value.init and value.repr and value.compare)
    )


def _init_once_needed(cls: Any) -> Callable[..., None]:
    """An `__init__` that writes the real one when it is first called: most are never used."""

    def first(self: Any, *args: Any, **fields: Any) -> None:
        cls.__init__ = _init(cls, dataclasses.fields(cls))
        cls.__init__(self, *args, **fields)

    return first


def _init(cls: Any, fields: tuple[dataclasses.Field[Any], ...]) -> Callable[..., None]:
    """`__init__` with the fields as parameters, in order, with defaults; then `__post_init__`."""
    # Names of the function's own end in two underscores, so that no field takes their place.
    scope: dict[str, Any] = {
        f"{f.name}__": f.default for f in fields if f.default is not dataclasses.MISSING
    }
    made_anew = {
        f.name: f.default_factory for f in fields if f.default_factory is not dataclasses.MISSING
    }
    scope |= {f"{name}__": _ANEW for name in made_anew}
    parameters = ", ".join(
        f"{f.name}={f.name}__" if f"{f.name}__" in scope else f.name for f in fields
    )
    lines = ["into__ = self.__dict__", *(f"into__[{f.name!r}] = {f.name}" for f in fields)]
    for name, factory in made_anew.items():
        scope[f"{name}_made__"] = factory
        lines.append(f"if {name} is {name}__: into__[{name!r}] = {name}_made__()")
    if hasattr(cls, "__post_init__"):
        lines.append("self.__post_init__()")
    exec(
        f"def __init__(self, {parameters}):\n " + "\n ".join(lines), scope
    )  # of names that python took as fields
    init: Callable[..., None] = scope["__init__"]
    return init


_ANEW = object()


def _values(record: Any) -> tuple[Any, ...]:
    fields = record.__dict__
    return tuple([fields[name] for name in record.__match_args__])


def _eq(self: Any, other: object) -> Any:
    return _values(self) == _values(other) if type(self) is type(other) else NotImplemented


def _hash(self: Any) -> int:
    return hash(_values(self))


def _repr(self: Any) -> str:
    pairs = ", ".join(f"{name}={self.__dict__[name]!r}" for name in self.__match_args__)
    return f"{type(self).__qualname__}({pairs})"


def _refuse_set(self: Any, name: str, value: object) -> NoReturn:
    raise dataclasses.FrozenInstanceError(f"cannot assign to field {name!r}")


def _refuse_del(self: Any, name: str) -> NoReturn:
    raise dataclasses.FrozenInstanceError(f"cannot delete field {name!r}")


_SHARED: dict[str, Callable[..., Any]] = {
    "__eq__": _eq,
    "__hash__": _hash,
    "__repr__": _repr,
    "__setattr__": _refuse_set,
    "__delattr__": _refuse_del,
}


def copied(record: type[Record], source: object, **given: object) -> Record:
    """A record that has from another object what both call by the same name, and what is given."""
    made: Any = record
    names = [field.name for field in dataclasses.fields(made) if field.name not in given]
    same = {name: getattr(source, name) for name in names if hasattr(source, name)}
    return record(**same, **given)
