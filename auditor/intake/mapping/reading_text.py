"""Labelled text → a source that can be asked by section and label. Knows no settings.

The text is a captured terminal dialogue, or a file of labels and values with or without sections.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise

from auditor.dataclass import dataclass, field
from auditor.intake.mapping.language import Layout
from auditor.intake.mapping.numbered import numbers_in
from auditor.intake.mapping.place import NUMBER, OWN_NAME, Found, PlaceError
from auditor.intake.mapping.terminal import read_lines

LONGEST_LABEL = 128
"""Characters of a label; what is longer is talk. Our own figure."""

PATH_SIGN = " > "
"""Stands in a place between section, block and label."""

_REMEDY = "Write the label, or section > label, or section > block > label."
_LEADERS = " .·_\t"
_SIGNS = " \t-=*#[](){}<>:."


@dataclass(frozen=True, slots=True)
class Entry:
    """One label with its value. ``parts`` are its section and block, plain, as far as there are any."""

    parts: tuple[str, ...]
    label: str
    found: Found


def read_text(text: bytes, file: str, layout: Layout) -> "TextBlock":
    """Return the text as one block.

    Raises:
        InputError: if the text can't be used.
    """
    entries, titles = _entries(read_lines(text, file), layout)
    return TextBlock(layout, tuple(entries), tuple(titles), Found("", 1, "text", "text", -1))


def plain(words: str) -> str:
    """Return a label or title in the form in which two are compared."""
    return " ".join(words.split()).casefold()


def match_form(form: str, line: str) -> str | None:
    """Return what stands for the ``*`` of a form, None if the line has another form."""
    before, star, after = form.partition("*")
    if not star:
        return line if plain(line) == plain(form) else None
    if len(line) <= len(before) + len(after):
        return None
    low = line.casefold()
    if low.startswith(before.casefold()) and low.endswith(after.casefold()):
        return line[len(before) : len(line) - len(after)].strip() or None
    return None


def _section(line: str, forms: Sequence[str]) -> tuple[str, str] | None:
    """Return the title of a section, None if the line begins none."""
    star = next((star for form in forms if (star := match_form(form, line)) is not None), None)
    return None if star is None else (star, star)


def _block(line: str, forms: Sequence[str]) -> tuple[str, str] | None:
    """Return the title of a block, which is its line without signs round it, and its own name."""
    star = next((star for form in forms if (star := match_form(form, line)) is not None), None)
    return None if star is None else (line.strip(_SIGNS), star)


@dataclass(frozen=True, slots=True)
class _Title:
    """A line that begins a section (one part) or a block (two)."""

    parts: tuple[str, ...]
    title: str
    found: Found


def _entries(lines: Sequence[tuple[int, str]], layout: Layout) -> tuple[list[Entry], list[_Title]]:
    entries: list[Entry] = []
    titles: list[_Title] = []
    section: list[str] = []
    for number, line in lines:
        level = 1 if (name := _section(line, layout.sections)) else 2
        name = name or _block(line, layout.blocks)
        if name:
            section = [*section[: level - 1], name[0]]
            at = PATH_SIGN.join(section)
            found = Found(name[1], number, at, at, -1 - number)
            titles.append(_Title(tuple(map(plain, section)), name[0], found))
        elif pair := _pair(line, layout):
            at = PATH_SIGN.join([*section, pair[0]])
            found = Found(pair[1], number, at, at, len(entries))
            entries.append(Entry(tuple(map(plain, section)), plain(pair[0]), found))
    return entries, titles


def _pair(line: str, layout: Layout) -> tuple[str, str] | None:
    """Return label and value of a line, None if it has no label."""
    label, sign, value = line.partition(layout.separator)
    if not sign:
        return None
    label, value = _answered(label.strip(), value.strip(), layout.answers)
    label = _without_asides(label, layout.asides).strip(_LEADERS)
    return (label, value) if 0 < len(label) <= LONGEST_LABEL else None


def _answered(label: str, value: str, signs: str) -> tuple[str, str]:
    """Take the value between the signs, unless something is answered after it."""
    if not signs:
        return label, value
    if label.endswith(signs[1]) and signs[0] in label:
        label, _, held = label[:-1].rpartition(signs[0])
        return label, value or held.strip()
    if value.startswith(signs[0]) and signs[1] in value:
        held, _, answer = value[1:].partition(signs[1])
        return label, answer.strip() or held.strip()
    return label, value


def _without_asides(label: str, signs: str) -> str:
    if not signs or signs[0] not in label:
        return label
    kept, rest = "", label
    while signs[0] in rest:
        before, _, inside = rest.partition(signs[0])
        kept, (_, _, rest) = f"{kept} {before}", inside.partition(signs[1])
    return " ".join(f"{kept} {rest}".split())


_Index = Mapping[tuple[str, ...], Sequence[Entry]]


@dataclass(frozen=True, slots=True)
class TextBlock:
    """Entries that can be asked by label: all of a text, or those of one repeated block."""

    layout: Layout
    entries: tuple[Entry, ...]
    titles: tuple[_Title, ...]
    own: Found
    number: str = ""
    depth: int = 0
    """How many of the parts of each entry are known by being in this block."""
    _shared: dict[str, _Index] = field(default_factory=dict, repr=False, compare=False)

    def _index(self) -> _Index:
        """Return the entries by label: made once, and shared by the members of a numbered list."""
        if "index" not in self._shared:
            self._shared["index"] = _indexed(self.entries, self.depth)
        return self._shared["index"]

    def find(self, place: str) -> Sequence[Found]:
        """Return what stands at a label; ``Section > Label`` looks in that section only.

        Raises:
            PlaceError: if the place has more parts than a text.
        """
        if place == OWN_NAME:
            return (self.own,)
        found = [entry.found for entry in self._index().get(self._tokens(place), ())]
        return tuple(found[-1:] if self.layout.last_counts else found)

    def _tokens(self, place: str) -> tuple[str, ...]:
        check_label(place)
        return tuple(map(plain, place.replace(NUMBER, self.number or NUMBER).split(PATH_SIGN)))

    def blocks(self, inside: str, each: str) -> "Sequence[TextBlock] | None":
        """Return the repeated blocks; None if the text does not tell of any.

        ``each`` is a form of titles (``Account *``), a label with a number (``User # name``), or
        the label that begins a block.

        Raises:
            PlaceError: if a place has more parts than a text.
        """
        around = self._inside(inside) if inside else self
        if around is None or not each:
            return None if around is None else (around,)
        found = tuple(around.repeated(each))
        return found if found or inside else None

    def holds_none(self, place: str) -> bool:  # noqa: ARG002 - a text has no empty lists
        """Say no: a text does not tell."""
        return False

    def leaves(self) -> Sequence[Found]:
        """Return every entry."""
        return tuple(entry.found for entry in self.entries)

    def here(self) -> Found:
        """Return the place at which the block begins."""
        return self.own

    def _inside(self, section: str) -> "TextBlock | None":
        parts = self._tokens(section)
        end = self.depth + len(parts)
        titles = [title for title in self.titles if title.parts[self.depth : end] == parts]
        entries = [entry for entry in self.entries if entry.parts[self.depth : end] == parts]
        if not titles and not entries:
            return None
        own = titles[0].found if titles else entries[0].found
        return TextBlock(self.layout, tuple(entries), tuple(titles), own, self.number, end)

    def repeated(self, each: str) -> "Iterator[TextBlock]":
        """Yield the repeated blocks of this one."""
        if NUMBER in each:
            yield from self._numbered(each)
        elif "*" in each:
            yield from self._titled(each)
        else:
            yield from self._begun(plain(each))

    def _numbered(self, each: str) -> "Iterator[TextBlock]":
        labels = [PATH_SIGN.join((*entry.parts[self.depth :], entry.label)) for entry in self.entries]
        labels += [entry.label for entry in self.entries]
        for number in numbers_in(plain(each), labels):
            own = Found(number, self.own.line, each.replace(NUMBER, number), each, -1)
            block = TextBlock(self.layout, self.entries, (), own, number, self.depth, self._shared)
            yield block

    def _titled(self, each: str) -> "Iterator[TextBlock]":
        lines = [entry.found.line for entry in self.entries]
        title_lines = [title.found.line for title in self.titles]
        for place, title in enumerate(self.titles):
            star = match_form(each, title.title)
            if star is None or self.depth not in (0, len(title.parts) - 1):
                continue
            level = len(title.parts)
            after = (t.found.line for t in self.titles[place + 1 :] if len(t.parts) <= level)
            begin, end = title.found.line, next(after, _FAR)
            found = title.found
            own = Found(star, found.line, found.at, found.name, found.key)
            entries = self.entries[bisect_right(lines, begin) : bisect_left(lines, end)]
            inner = self.titles[place + 1 : bisect_left(title_lines, end)]
            yield TextBlock(self.layout, entries, inner, own, self.number, level)

    def _begun(self, label: str) -> "Iterator[TextBlock]":
        starts = [place for place, entry in enumerate(self.entries) if entry.label == label]
        for begin, end in pairwise([*starts, len(self.entries)]):
            first = self.entries[begin]
            inner = tuple(one for one in self.entries[begin:end] if one.parts == first.parts)
            own = Found(first.found.text, first.found.line, first.found.at, first.found.name, -1)
            yield TextBlock(self.layout, inner, (), own, self.number, len(first.parts))


_FAR = 1 << 40


def _indexed(entries: Sequence[Entry], depth: int) -> _Index:
    """Index entries by label, and by each of the ways to say in what they stand.

    Where a label stands both in a section itself and in blocks of it, only the former counts;
    a label alone is met first outside all sections, then anywhere.
    """
    index: dict[tuple[str, ...], tuple[int, list[Entry]]] = {}
    for entry in entries:
        parts = entry.parts[depth:]
        for size in range(len(parts) + 1):
            key, below = (*parts[:size], entry.label), len(parts) - size if size else bool(parts)
            least, found = index.setdefault(key, (below, []))
            if below < least:
                index[key] = (below, [entry])
            elif below == least:
                found.append(entry)
    return {key: found for key, (_, found) in index.items()}


def check_label(place: str) -> None:
    """Check that a place can be read.

    Raises:
        PlaceError: if it has more parts than a text, or an empty one.
    """
    parts = place.split(PATH_SIGN)
    if len(parts) > 3 or not all(part.strip() for part in parts):  # noqa: PLR2004 - section, block, label
        raise PlaceError("not a place of a text", _REMEDY)
