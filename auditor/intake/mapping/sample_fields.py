"""A sample of an export → its settings as a map would name them, repeated blocks kept together."""

import re
from collections import Counter
from collections.abc import Iterator, Sequence

from auditor.dataclass import dataclass, field
from auditor.intake.mapping.language import SourceKind
from auditor.intake.mapping.place import NUMBER, Block, Found
from auditor.intake.mapping.reading_text import PATH_SIGN
from auditor.record.pointer import join, split

_NUMBER = re.compile(r"[0-9]{1,5}")
_INDEX = re.compile(r"\[[0-9]+\]")


@dataclass(frozen=True, slots=True)
class Group:
    """A repeated block: what holds it, and how a map names it."""

    inside: str
    each: str


@dataclass(frozen=True, slots=True)
class Field:
    """A setting of a sample: its place, its own name, what it stands in, one of its texts.

    ``group`` is the repeated block it stands in, None if there is none.
    """

    place: str
    own: str
    context: str
    group: Group | None
    text: str = field(repr=False)
    line: int = 0


def fields_of(block: Block, source: SourceKind) -> list[Field]:
    """Return the settings of a sample in file order, those of repeated blocks once."""
    leaves = [leaf for leaf in block.leaves() if not leaf.fault]
    made: dict[tuple[str, Group | None], Field] = {}
    for one in _MAKERS[source](leaves):
        key = (one.place, one.group)
        if key not in made or not made[key].text:
            made[key] = one
    return list(made.values())


def _xml_fields(leaves: Sequence[Found]) -> Iterator[Field]:
    names = {leaf.at.removesuffix("/@id"): leaf.text for leaf in leaves if leaf.at.endswith("/@id")}
    for leaf in leaves:
        yield _xml_field(leaf, names)


def _xml_field(leaf: Found, names: dict[str, str]) -> Field:
    """Name an element by its own id where it has one, else as a member of a repeated block."""
    steps = leaf.at.split("/")
    written: list[str] = []
    for place, step in enumerate(steps):
        name = _INDEX.sub("", step)
        own = names.get("/".join(steps[: place + 1]), "")
        if name == step:
            written.append(name)
        elif own and not own.isdecimal() and "'" not in own:
            written.append(f"{name}[@id='{own}']")
        else:
            return _in_group(written, name, [_INDEX.sub("", one) for one in steps[place + 1 :]], leaf)
    return Field("/".join(written), written[-1], " ".join(written[:-1]), None, leaf.text, leaf.line)


def _in_group(written: Sequence[str], name: str, rest: Sequence[str], leaf: Found) -> Field:
    context = " ".join([*written, name, *rest[:-1]])
    own = rest[-1] if rest else name
    return Field("/".join(rest) or ".", own, context, Group("/".join(written), name), leaf.text, leaf.line)


def _json_fields(leaves: Sequence[Found]) -> Iterator[Field]:
    for leaf in leaves:
        tokens = split(leaf.at)
        first = next((place for place, token in enumerate(tokens) if token.isdecimal()), None)
        plain = [token for token in tokens if not token.isdecimal()]
        own, context = (plain or [""])[-1], " ".join(plain[:-1])
        general = ["*" if token.isdecimal() else token for token in tokens]
        if first is None or first == len(tokens) - 1:
            yield Field(join(general), own, context, None, leaf.text, leaf.line)
        else:
            group = Group(join(general[:first]), "/*")
            yield Field(join(general[first + 1 :]) or ".", own, context, group, leaf.text, leaf.line)


def _text_fields(leaves: Sequence[Found]) -> Iterator[Field]:
    blocks = Counter(_NUMBER.sub("*", PATH_SIGN.join(leaf.at.split(PATH_SIGN)[:-1])) for leaf in leaves)
    labels = _numbered([leaf.at.rpartition(PATH_SIGN) for leaf in leaves])
    for leaf in leaves:
        *around, own = leaf.at.split(PATH_SIGN)
        context = " ".join(around)
        if around and _NUMBER.search(around[-1]) and blocks[_NUMBER.sub("*", PATH_SIGN.join(around))]:
            group = Group(PATH_SIGN.join(around[:-1]), _NUMBER.sub("*", around[-1], count=1))
            yield Field(own, own, context, group, leaf.text, leaf.line)
        elif PATH_SIGN.join([*around, _NUMBER.sub(NUMBER, own, count=1)]) in labels:
            place = _NUMBER.sub(NUMBER, own, count=1)
            yield Field(place, own, context, Group(PATH_SIGN.join(around), place), leaf.text, leaf.line)
        else:
            yield Field(leaf.at, own, context, None, leaf.text, leaf.line)


def _csv_fields(leaves: Sequence[Found]) -> Iterator[Field]:
    numbered = _numbered([("", "", leaf.name) for leaf in leaves])
    for leaf in leaves:
        place = _NUMBER.sub(NUMBER, leaf.name, count=1)
        if place not in numbered:
            yield Field(leaf.name, leaf.name, "", None, leaf.text, leaf.line)
        else:
            before = place.partition(NUMBER)[0]
            each = next(one for one in numbered if one.startswith(before + NUMBER))
            own = place.partition(NUMBER)[2].strip() or before
            yield Field(place, own, before, Group("", each), leaf.text, leaf.line)


def _numbered(names: Sequence[tuple[str, str, str]]) -> list[str]:
    """Return the forms of names that stand with two numbers or more, each once; a name is its last part."""
    single = dict.fromkeys(names)
    forms = Counter(f"{one}{sign}{_NUMBER.sub(NUMBER, own, count=1)}" for one, sign, own in single)
    return [form for form, count in forms.items() if NUMBER in form and count > 1]


_MAKERS = {
    SourceKind.XML: _xml_fields,
    SourceKind.JSON: _json_fields,
    SourceKind.TEXT: _text_fields,
    SourceKind.CSV: _csv_fields,
}
