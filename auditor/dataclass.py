"""``dataclass``, ``field`` and ``replace`` as in ``dataclasses``, for a tenth of the time at start.

``dataclasses`` writes and compiles half a dozen methods for each class when its module is
imported. A hundred classes of ours took more than a third of the start of the tool that way. Here the methods
are shared, but for ``__init__``, which is written when a class turns out to have many objects. It
also sets the fields of a frozen object twice as fast, which counts on the path of every record.

For a type checker these are the names of ``dataclasses``, and ``dataclasses`` takes such classes
for its own. Left out, and refused, is what no class here uses: inheritance, order, fields that
are no arguments.
"""

from collections.abc import Callable
from inspect import get_annotations
from operator import attrgetter
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from dataclasses import dataclass as dataclass  # noqa: PLC0414 - handed on
    from dataclasses import field as field  # noqa: PLC0414
    from dataclasses import replace as replace  # noqa: PLC0414
else:

    def dataclass(*, frozen: bool = False, slots: bool, eq: bool = True) -> Callable[[type], type]:
        """Return the decorator that makes a data class with slots; ``eq`` false: equal only to itself."""
        if not slots:
            raise TypeError("a data class here has slots")
        return lambda plain: _made(plain, frozen=frozen, eq=eq)

    def field(**given: Any) -> "_Field":  # noqa: ANN401 - any default
        """Return a field with a default, a factory of defaults, or without a part in text or comparison."""
        return _Field(**given)

    def replace(one: Any, **changes: Any) -> Any:  # noqa: ANN401 - any data class
        """Return a copy in which some fields are others."""
        return type(one)(**(dict(zip(one.__match_args__, _state(one), strict=True)) | changes))


_NONE: Final = object()
"""Stands for no default, and in an ``__init__`` for a value to be made."""


class _Field:
    """What is known of one field."""

    __slots__ = ("compare", "default", "default_factory", "name", "repr")

    def __init__(
        self,
        *,
        default: Any = _NONE,  # noqa: ANN401 - any default
        default_factory: Any = _NONE,  # noqa: ANN401
        repr: bool = True,  # noqa: A002 - as dataclasses names it
        compare: bool = True,
    ) -> None:
        self.name = ""
        self.default = default
        self.default_factory = default_factory
        self.repr = repr
        self.compare = compare


class _StandardFields:
    """Gives the fields as ``dataclasses`` has them, to whom asks."""

    def __get__(self, one: object, owner: Any) -> Any:  # noqa: ANN401 - private to dataclasses
        import dataclasses  # what this module does without at start

        kinds = owner.__annotations__
        fields = [(f.name, kinds[f.name], dataclasses.field(**_arguments(f))) for f in owner.__fields__]
        standard: Any = dataclasses.make_dataclass(owner.__name__, fields)
        owner.__dataclass_fields__ = standard.__dataclass_fields__
        return owner.__dataclass_fields__


def _arguments(each: _Field) -> dict[str, Any]:
    named = {"default": each.default, "default_factory": each.default_factory}
    return {"repr": each.repr, "compare": each.compare} | {k: v for k, v in named.items() if v is not _NONE}


def _made(plain: type, *, frozen: bool, eq: bool) -> type:
    """Return the class anew, with slots and methods."""
    if any("__fields__" in base.__dict__ for base in plain.__mro__):
        raise TypeError(f"{plain.__name__} inherits from a data class")
    fields = tuple(_field_of(plain, name) for name in get_annotations(plain))
    names = tuple(each.name for each in fields)
    compared = [each.name for each in fields if each.compare]
    left_out = {*names, "__dict__", "__weakref__"}
    own = {name: value for name, value in plain.__dict__.items() if name not in left_out}
    body = {
        "__qualname__": plain.__qualname__,
        "__slots__": names,
        "__match_args__": names,
        "__fields__": fields,
        "__is_frozen__": frozen,
        "__values__": attrgetter(*names) if names else _nothing,
        "__filled_in__": 0,
        "__dataclass_fields__": _StandardFields(),
        "__init__": _first_init,
        "__repr__": _repr,
        "__getstate__": _state,
        "__setstate__": _set_state,
    }
    if eq:
        body |= {"__content__": attrgetter(*compared) if compared else _nothing, "__eq__": _eq}
        body |= {"__hash__": _hash if frozen else None}
    if frozen:
        body |= {"__setattr__": _refuse_change, "__delattr__": _refuse_change}
    return type(plain)(plain.__name__, plain.__bases__, body | own)


def _field_of(plain: type, name: str) -> _Field:
    given = plain.__dict__.get(name, _NONE)
    found = given if isinstance(given, _Field) else _Field(default=given)
    found.name = name
    return found


def _first_init(self: Any, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401 - any data class
    """Fill in the first objects of a class; write its ``__init__`` for more, and to word an error."""
    owner: Any = next(base for base in type(self).__mro__ if "__fields__" in base.__dict__)
    owner.__filled_in__ += 1
    positional = dict(zip(owner.__match_args__, args, strict=False))
    given = _with_defaults(owner, positional | kwargs)
    is_sound = len(positional) == len(args) and positional.keys().isdisjoint(kwargs)
    if owner.__filled_in__ <= _FEW and is_sound and given.keys() == set(owner.__match_args__):
        for name, value in given.items():
            object.__setattr__(self, name, value)
        return
    init = owner.__init__ = _written_init(owner)
    init(self, *args, **kwargs)


def _with_defaults(owner: Any, given: dict[str, Any]) -> dict[str, Any]:  # noqa: ANN401 - any data class
    for each in owner.__fields__:
        if each.name not in given and each.default is not _NONE:
            given[each.name] = each.default
        elif each.name not in given and each.default_factory is not _NONE:
            given[each.name] = each.default_factory()
    return given


_FEW: Final = 10
"""So many objects are filled in before an ``__init__`` is written: that takes about as long."""


def _written_init(owner: Any) -> Callable[..., None]:  # noqa: ANN401 - any data class
    names: dict[str, Any] = {"NONE": _NONE}
    arguments, lines = [], []
    for each in owner.__fields__:
        name, value = each.name, each.name
        names[f"set_{name}"] = getattr(owner, name).__set__
        if each.default is not _NONE:
            names[f"default_{name}"] = each.default
            arguments.append(f"{name}=default_{name}")
        elif each.default_factory is not _NONE:
            names[f"make_{name}"] = each.default_factory
            arguments.append(f"{name}=NONE")
            value = f"make_{name}() if {name} is NONE else {name}"
        else:
            arguments.append(name)
        # The setter of a slot goes round the refusal of changes, and is quicker than object's.
        lines.append(f"set_{name}(self, {value})" if owner.__is_frozen__ else f"self.{name} = {value}")
    text = "\n    ".join([f"def __init__({', '.join(['self', *arguments])}):", *lines, "return None"])
    exec(compile(text, f"<{owner.__qualname__}>", "exec"), names)  # noqa: S102 - names of our classes
    init: Callable[..., None] = names["__init__"]
    init.__qualname__ = f"{owner.__qualname__}.__init__"
    return init


def _repr(self: Any) -> str:  # noqa: ANN401 - any data class
    shown = ", ".join(f"{each.name}={getattr(self, each.name)!r}" for each in self.__fields__ if each.repr)
    return f"{type(self).__qualname__}({shown})"


def _eq(self: Any, other: Any) -> bool:  # noqa: ANN401 - any data class
    if other.__class__ is not self.__class__:
        return NotImplemented  # type: ignore[no-any-return]
    return bool(self.__content__(self) == self.__content__(other))


def _hash(self: Any) -> int:  # noqa: ANN401 - any data class
    return hash(self.__content__(self))


def _nothing(_: object) -> tuple[()]:
    return ()


def _state(self: Any) -> tuple[Any, ...]:  # noqa: ANN401 - any data class
    values = self.__values__(self)
    return values if len(self.__fields__) != 1 else (values,)


def _set_state(self: Any, state: tuple[Any, ...]) -> None:  # noqa: ANN401 - any data class
    self.__init__(*state)


def _refuse_change(self: object, name: str, *_: object) -> None:
    raise AttributeError(f"{type(self).__qualname__} is frozen: {name} does not change")
