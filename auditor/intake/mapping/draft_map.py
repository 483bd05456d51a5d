"""A sample of an export → a map to start from, every guess marked as one. Writes no value of the sample."""

import json
import re
from collections.abc import Iterator, Sequence

from auditor.intake.imported import id_from_name
from auditor.intake.mapping.conversion import convert, is_unknown
from auditor.intake.mapping.conversion_error import ConversionError
from auditor.intake.mapping.kind import is_list, usual_kind
from auditor.intake.mapping.language import Conversion, Layout, SourceKind
from auditor.intake.mapping.matching import Guess, ListGuess, match_lists, match_settings
from auditor.intake.mapping.moment import read_date, read_moment
from auditor.intake.mapping.opening import open_source
from auditor.intake.mapping.sample_fields import Field, fields_of
from auditor.intake.mapping.sample_kind import kind_of, layout_of
from auditor.intake.mapping.setting_options import read_conversion
from auditor.record.mask import is_masked
from auditor.record.outline import Leaf
from auditor.record.pointer import join

MOST_FIELDS = 2_000
"""Settings of a sample that are matched; our own figure, to bound the work."""

_FORMS = (
    "YYYY-MM-DD", "YYYY/MM/DD", "DD.MM.YYYY", "DD/MM/YYYY", "MM/DD/YYYY", "DD-MON-YYYY", "DD MON YYYY",
    "MON DD, YYYY",
)  # fmt: skip
_TIMES = ("", " hh:mm", " hh:mm:ss", "Thh:mm:ss", "Thh:mm:ssOFFSET", " hh:mm:ss OFFSET", " hh:mm:ssOFFSET")
_LETTERS = re.compile("[a-z]+")
_SPOKEN_UNITS = (
    "ms",
    "s",
    "sec",
    "seconds",
    "min",
    "minutes",
    "h",
    "hours",
    "days",
    "c",
    "celsius",
    "f",
    "fahrenheit",
)
_METHODS = {SourceKind.TEXT: "console", SourceKind.CSV: "sheet"}


def draft_map(sample: bytes, file: str) -> str:
    """Return a map, as TOML, that takes from a sample what can be guessed by name.

    Every guess has a comment with its similarity, 0 to 1; settings of the sample without a guess
    are listed as comments. No value of the sample is written, since it may be a secret.

    Raises:
        InputError: with every fault of the sample.
    """
    source = kind_of(sample, file)
    layout = layout_of(sample, file, source)
    blocks = open_source(sample, file, source, layout)
    every = list(dict.fromkeys(one for block in blocks[:1] for one in fields_of(block, source)))
    fields = every[:MOST_FIELDS]
    settings = match_settings(fields)
    lists = match_lists(fields, [guess.field for guess in settings])
    taken = {guess.field for guess in (*settings, *(guess for one in lists for guess in one.guesses))}
    return "\n".join(
        [
            *_head(file, source, layout),
            *(line for guess in settings for line in ("", *_setting(guess, "setting"))),
            *(line for one in lists for line in ("", *_list(one))),
            *_left_over([one for one in every if one not in taken]),
            "",
        ]
    )


def _head(file: str, source: SourceKind, layout: Layout) -> Iterator[str]:
    name = "-".join(
        "".join(c if c.isascii() and c.isalnum() else " " for c in id_from_name(file).lower()).split()
    )
    yield "# A first draft, made by matching names. Every line marked guess needs your eye;"
    yield "# then try it on the sample: witnessmark map check"
    yield "[map]"
    yield f"name = {_quoted(name[:64].strip('-') or 'export')}"
    yield 'for = "say here which cards and which release this export is of"'
    yield f"source = {_quoted(source.value)}"
    yield f"method = {_quoted(_METHODS.get(source, 'export'))}"
    yield "# card_id = the place of the card's id; without it, the start of the file's name is the id"
    if source is SourceKind.TEXT:
        yield from _layout(layout)


def _layout(layout: Layout) -> Iterator[str]:
    yield ""
    yield "[layout]   # guess"
    yield f"separator = {_quoted(layout.separator)}"
    for name, forms in (("sections", layout.sections), ("blocks", layout.blocks)):
        if forms:
            yield f"{name} = [{', '.join(map(_quoted, forms))}]"
    for name, signs in (("asides", layout.asides), ("answers", layout.answers)):
        if signs:
            yield f"{name} = {_quoted(signs)}"
    if layout.last_counts:
        yield "last_counts = true"


def _setting(guess: Guess, table: str, *, indent: str = "", skip: int = 0) -> Iterator[str]:
    one, leaf = guess.field, guess.leaf
    yield f"{indent}[[{table}]]   # guess, similarity {guess.alike:.2f}"
    yield f"{indent}to = {_quoted(join(leaf.tokens[skip:]))}"
    yield f"{indent}from = {_quoted(one.place)}"
    for option in _options(one, leaf):
        yield f"{indent}{option}"


def _list(one: ListGuess) -> Iterator[str]:
    mean = sum(guess.alike for guess in one.guesses) / len(one.guesses)
    yield f"[[list]]   # guess, mean similarity {mean:.2f}"
    yield f"to = {_quoted(join(one.leaf.tokens))}"
    if one.group is not None and one.group.inside:
        yield f"inside = {_quoted(one.group.inside)}"
    if one.group is not None:
        yield f"each = {_quoted(one.group.each)}"
    for guess in one.guesses:
        yield ""
        yield from _setting(guess, "list.setting", indent="    ", skip=len(one.leaf.tokens) + 1)


def _left_over(fields: Sequence[Field]) -> Iterator[str]:
    if not fields:
        return
    yield ""
    yield "# Settings of the sample without a guess:"
    for one in fields[:MOST_FIELDS]:
        place = f"{one.group.inside} {one.group.each} {one.place}".strip() if one.group else one.place
        yield f"#   {_quoted(place)}   line {one.line}"
    if len(fields) > MOST_FIELDS:
        yield f"#   and {len(fields) - MOST_FIELDS} more"


def _options(one: Field, leaf: Leaf) -> Iterator[str]:
    """Yield the options that the sample's text asks for, as comments where somebody must choose."""
    kind = usual_kind(leaf)
    conversion, _ = read_conversion({}, leaf)
    if not one.text.strip() or is_masked(one.text) or is_unknown(one.text, conversion):
        return
    if kind in ("date", "moment"):
        yield from _forms(one.text, kind)
    elif kind == "word" and not is_list(leaf) and not _converts(one.text, conversion):
        yield '# words = { "word of the source" = "word of the record" }'
        yield f"# the record has: {', '.join(leaf.values)}"
    elif kind == "truth" and not _converts(one.text, conversion):
        yield '# yes = ["word for true"]'
        yield '# no = ["word for false"]'
    elif kind in ("duration", "number") and conversion.unit_wanted not in ("", "%"):
        yield from _units(one, conversion)


def _units(one: Field, conversion: Conversion) -> Iterator[str]:
    if _converts(one.text, conversion):
        return
    spoken = _LETTERS.findall(one.own.lower())
    unit = next((word for word in reversed(spoken) if word in _SPOKEN_UNITS), "")
    if unit:
        yield f"unit = {_quoted(unit)}   # guess, by the name of the setting"
    else:
        yield f"# unit = {_quoted(conversion.unit_wanted)}   # the sample gives none: say which it is"


def _forms(text: str, kind: str) -> Iterator[str]:
    fitting = list(_fitting_forms(text, kind))
    if not fitting:
        yield '# form = "YYYY-MM-DD"   # the sample has another form: say which'
        return
    mark = "" if len(fitting) == 1 else "# "
    for form in fitting:
        yield f"{mark}form = {_quoted(form)}" + ("   # choose" if mark else "   # guess")
    if kind == "moment" and "OFFSET" not in fitting[0]:
        yield '# offset = "Z"   # the sample gives none: say which it is'


def _fitting_forms(text: str, kind: str) -> Iterator[str]:
    forms = _FORMS if kind == "date" else tuple(day + time for day in _FORMS for time in _TIMES if time)
    for form in forms:
        try:
            read_date(text, form) if kind == "date" else read_moment(text, form, "Z")
        except ConversionError:
            continue
        yield form


def _converts(text: str, conversion: Conversion) -> bool:
    try:
        convert(text, conversion)
    except ConversionError:
        return False
    return True


def _quoted(text: str) -> str:
    """Return a text as a basic string of TOML, which has the escapes of JSON and no bare DEL."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
