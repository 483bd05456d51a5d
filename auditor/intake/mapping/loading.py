"""TOML text → a map, every fault worded with file, line and what to do. Opens no files."""

from collections.abc import Mapping, Sequence
from functools import cache
from math import isfinite
from typing import Any, TypeAlias

import jsonschema_rs
import orjson

from auditor.dataclass import dataclass, field
from auditor.errors import Fault, InputError
from auditor.intake.fitting import misfit
from auditor.intake.mapping.kind import is_list
from auditor.intake.mapping.language import Layout, ListMap, Map, SettingMap, SourceKind
from auditor.intake.mapping.place import PlaceError
from auditor.intake.mapping.place_check import check_list, check_place, unknown_prefixes
from auditor.intake.mapping.setting_options import read_conversion
from auditor.packaged import packaged
from auditor.record.nearest import nearest
from auditor.record.outline import ANY, Leaf, leaf_at, outline
from auditor.record.pointer import join, split
from auditor.record.toml_place import line_of
from auditor.record.toml_text import parse_toml

Path: TypeAlias = tuple[str | int, ...]
_Raw: TypeAlias = Mapping[str, Any]

MAP_BYTES = 1024 * 1024
"""A map is a few kilobytes; our own figure."""

_CERTIFICATE = "/tls/certificate/"
_PEM = f"{_CERTIFICATE}pem"
_ELSEWHERE: Mapping[str, str] = {
    "/card/id": "Write card_id in [map] instead.",
    "/capture/method": "Write method in [map] instead.",
    "/capture/source_digest": "Remove it: the import writes it.",
    "/unmapped": "Remove it: the import writes it.",
}


def load_map(text: bytes, file: str) -> Map:
    """Return the map that a TOML file holds.

    Raises:
        InputError: with every fault of the file, in file order.
    """
    if len(text) > MAP_BYTES:
        problem = f"larger than {MAP_BYTES // 1024} KiB, the most for a map"
        raise InputError([Fault(file, "", 0, 0, problem, "Check that this is a map.")])
    document = parse_toml(text, file)
    faults = _Faults(text.decode(), file)
    _check_shape(document, faults)
    faults.raise_any()
    loaded = _read(document, faults)
    faults.raise_any()
    return loaded


@dataclass(frozen=True, slots=True)
class _Faults:
    """Faults found so far. The one list here grows while a map is read, and only then."""

    text: str
    file: str
    found: list[Fault] = field(default_factory=list)

    def line(self, path: Path) -> int:
        return line_of(self.text, path)

    def add(self, path: Path, problem: str, remedy: str) -> None:
        self.found.append(Fault(self.file, join(path), self.line(path), 0, problem, remedy))

    def raise_any(self) -> None:
        if self.found:
            raise InputError(sorted(self.found, key=lambda fault: fault.line))


@cache
def map_schema() -> Mapping[str, Any]:
    """Return the JSON Schema of a map."""
    text = packaged("intake", "map-1.schema.json").read_bytes()
    schema: Mapping[str, Any] = orjson.loads(text)
    return schema


@cache
def _validator() -> jsonschema_rs.Draft202012Validator:
    return jsonschema_rs.Draft202012Validator(dict(map_schema()))


def _check_shape(document: _Raw, faults: _Faults) -> None:
    try:
        orjson.dumps(document, option=orjson.OPT_PASSTHROUGH_DATETIME)
        if _validator().is_valid(document):
            return
    except (TypeError, ValueError):  # a time, which TOML has and JSON has not: worded below
        pass
    from auditor.record.wording import describe_errors  # slow, needed for faults only

    for path, problem, remedy in describe_errors(document, map_schema()):
        faults.add(path, problem, remedy)


def _read(document: _Raw, faults: _Faults) -> Map:
    head = document["map"]
    source = SourceKind(head["source"])
    reader = _Reader(source, document.get("namespaces", {}), faults)
    _check_layout(document, source, faults)
    card_id = _several(head.get("card_id", ()))
    reader.check_places(card_id, ("map", "card_id"))
    return Map(
        name=head["name"],
        title=head["for"],
        source=source,
        method=head["method"],
        card_id=card_id,
        ignore=tuple(head.get("ignore", ())),
        layout=_layout(document),
        settings=reader.settings(document.get("setting", ()), (), ("setting",)),
        lists=reader.lists(document.get("list", ()), (), ("list",)),
        file=faults.file,
    )


def _check_layout(document: _Raw, source: SourceKind, faults: _Faults) -> None:
    if "layout" in document and source is not SourceKind.TEXT:
        faults.add(("layout",), f"a source of kind {source.value} has no layout", "Remove this table.")
    if "namespaces" in document and source is not SourceKind.XML:
        faults.add(("namespaces",), "only XML has namespaces", "Remove this table.")


def _layout(document: _Raw) -> Layout:
    raw = document.get("layout", {})
    return Layout(
        separator=raw.get("separator", ":"),
        sections=tuple(raw.get("sections", ())),
        blocks=tuple(raw.get("blocks", ())),
        asides=raw.get("asides", ""),
        answers=raw.get("answers", ""),
        last_counts=raw.get("last_counts", False),
        namespaces=document.get("namespaces", {}),
    )


def _several(raw: str | Sequence[str]) -> tuple[str, ...]:
    return (raw,) if isinstance(raw, str) else tuple(raw)


@dataclass(frozen=True, slots=True)
class _Reader:
    """Reads settings and lists of one map, noting their faults."""

    source: SourceKind
    namespaces: Mapping[str, str]
    faults: _Faults

    def settings(self, raws: Sequence[_Raw], around: tuple[str, ...], path: Path) -> tuple[SettingMap, ...]:
        found = [self._setting(raw, around, (*path, n)) for n, raw in enumerate(raws)]
        self._note_doubles(found, path)
        self._note_two_certificates(found, path)
        return tuple(setting for setting in found if setting is not None)

    def _note_doubles(self, found: Sequence[SettingMap | None], path: Path) -> None:
        seen: set[str] = set()
        for number, setting in enumerate(found):
            if setting is not None and setting.to in seen:
                remedy = "Keep one, and write both places in its from."
                self.faults.add((*path, number, "to"), f"a second setting for {setting.to}", remedy)
            elif setting is not None:
                seen.add(setting.to)

    def _note_two_certificates(self, found: Sequence[SettingMap | None], path: Path) -> None:
        """Note a certificate that is mapped both as PEM and as its facts: a record has only one of them."""
        told = {setting.to for setting in found if setting is not None}
        facts = {to for to in told if to.startswith(_CERTIFICATE)} - {_PEM, f"{_CERTIFICATE}is_factory"}
        if _PEM in told and facts:
            problem = f"{_PEM} can't stand beside {min(facts)}"
            self.faults.add(path, problem, "Keep the PEM text: its facts are read from it.")

    def _setting(self, raw: _Raw, around: tuple[str, ...], path: Path) -> SettingMap | None:
        leaf = self._leaf(raw["to"], around, (*path, "to"))
        if leaf is None:
            return None
        if leaf.kind == "members":
            self.faults.add((*path, "to"), "this is a list of members", "Write it as [[list]].")
            return None
        places = _several(raw.get("from", ()))
        self.check_places(places, (*path, "from"))
        if ("from" in raw) == ("value" in raw):
            remedy = "Write where it stands, or a fixed value."
            self.faults.add(path, "a setting has either from or value", remedy)
        self._check_fixed(raw, leaf, path)
        conversion, found = read_conversion(raw, leaf)
        for option, problem, remedy in found:
            self.faults.add((*path, option), problem, remedy)
        return SettingMap(
            to=raw["to"],
            places=places,
            fixed=(raw["value"],) if "value" in raw else (),
            conversion=conversion,
            takes_all=is_list(leaf) or leaf.kind == "sources",
            join=raw.get("join"),
            line=self.faults.line(path),
        )

    def _check_fixed(self, raw: _Raw, leaf: Leaf, path: Path) -> None:
        if "value" not in raw:
            return
        for option in sorted(set(raw) - {"to", "from", "value"}):
            self.faults.add((*path, option), "a fixed value takes no options", "Remove it.")
        value = raw["value"]
        if leaf.kind in ("secret", "sources"):
            self.faults.add((*path, "value"), "no secret and no sources can be fixed in a map", "Remove it.")
            return
        pointer = join("0" if token == ANY else token for token in leaf.tokens)
        odd = isinstance(value, float) and not isfinite(value)
        problem = "no number" if odd else misfit(pointer, value)
        if problem:
            self.faults.add((*path, "value"), problem, f"Allowed: {leaf.allowed}.")

    def _leaf(self, to: str, around: tuple[str, ...], path: Path, *, of_list: bool = False) -> Leaf | None:
        """Return the setting that a pointer leads to, noting why there is none."""
        try:
            tokens = (*around, *split(to))
        except ValueError:
            self.faults.add(path, "not a JSON Pointer", "Write it as /services/telnet/enabled.")
            return None
        elsewhere = _ELSEWHERE.get(join(tokens))
        leaf = leaf_at(tokens)
        if elsewhere:
            self.faults.add(path, "this setting is not mapped", elsewhere)
            return None
        if leaf is None or ANY in tokens[len(around) :]:
            self.faults.add(path, *_unknown(tokens, around, of_list=of_list))
            return None
        return leaf

    def lists(self, raws: Sequence[_Raw], around: tuple[str, ...], path: Path) -> tuple[ListMap, ...]:
        found = (self._list(raw, around, (*path, n)) for n, raw in enumerate(raws))
        return tuple(one for one in found if one is not None)

    def _list(self, raw: _Raw, around: tuple[str, ...], path: Path) -> ListMap | None:
        leaf = self._leaf(raw["to"], around, (*path, "to"), of_list=True)
        if leaf is None:
            return None
        if leaf.kind != "members":
            self.faults.add((*path, "to"), "this is no list of members", "Write it as [[setting]].")
            return None
        self._check_blocks(raw.get("inside", ""), raw.get("each", ""), path)
        inner = (*leaf.tokens, ANY)
        settings = self.settings(raw.get("setting", ()), inner, (*path, "setting"))
        needs = _several(raw.get("needs", ()))
        for need in needs:
            if need not in {setting.to for setting in settings}:
                known = nearest(need, (setting.to for setting in settings))
                self.faults.add((*path, "needs"), f"this list has no setting {need}", known)
        lists = self.lists(raw.get("list", ()), inner, (*path, "list"))
        if not settings and not lists:
            self.faults.add(path, "a list without settings", "Add [[list.setting]] with to and from.")
        line = self.faults.line(path)
        return ListMap(raw["to"], raw.get("inside", ""), raw.get("each", ""), needs, settings, lists, line)

    def check_places(self, places: Sequence[str], path: Path) -> None:
        """Note what is wrong with the places of a setting."""
        for number, place in enumerate(places):
            try:
                check_place(self.source, place)
            except PlaceError as error:
                at = (*path, number) if len(places) > 1 else path
                self.faults.add(at, error.problem, error.remedy)
        self._check_prefixes(places, path)

    def _check_blocks(self, inside: str, each: str, path: Path) -> None:
        try:
            check_list(self.source, inside, each)
        except PlaceError as error:
            self.faults.add((*path, "each"), error.problem, error.remedy)
        self._check_prefixes((inside, each), (*path, "each"))

    def _check_prefixes(self, places: Sequence[str], path: Path) -> None:
        for prefix in unknown_prefixes(self.source, places, self.namespaces):
            remedy = nearest(prefix, self.namespaces)
            self.faults.add(path, f"the prefix {prefix} is not among the namespaces", remedy)


def _unknown(tokens: tuple[str, ...], around: tuple[str, ...], *, of_list: bool) -> tuple[str, str]:
    """Word that the record has no such setting, or no such list, with the nearest that it has."""
    start = len(around)
    lists = [leaf.tokens for leaf in outline() if leaf.kind == "members"]
    through = next((one for one in lists if len(one) > start and tokens[: len(one)] == one), None)
    if through is not None:
        return f"this stands in the list {join(through)}", "Write it as [[list]] with [[list.setting]]."
    known = (leaf for leaf in outline() if leaf.tokens[:start] == around and ANY not in leaf.tokens[start:])
    pointers = {join(leaf.tokens[start:]) for leaf in known if (leaf.kind == "members") is of_list}
    what, wanted = "list" if of_list else "setting", join(tokens[start:])
    return f"the record has no {what} {wanted}", nearest(wanted, pointers - set(_ELSEWHERE))
