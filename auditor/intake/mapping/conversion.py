"""Texts of a source → values of the record, as a map says. Judges the form; the schema judges the rest."""

from collections.abc import Callable, Mapping, Sequence

from auditor.intake.mapping import moment, network_form, quantity
from auditor.intake.mapping.conversion_error import ConversionError
from auditor.intake.mapping.language import Conversion
from auditor.record.mask import MASKED, is_masked

TRUE_WORDS = ("on", "yes", "true", "enabled", "enable", "active", "1", "y")
FALSE_WORDS = ("off", "no", "false", "disabled", "disable", "inactive", "0", "n")
"""Truth words where a map names none. Common practice, no source."""

ANY_WORDS = ("any", "all", "*", "everyone", "unrestricted", "any source")
"""Words for sources without a limit. Common practice, no source."""

LONGEST_TEXT = 131_072
"""Characters of one value: a chain of certificates is the longest; our own figure."""


def is_unknown(text: str, conversion: Conversion) -> bool:
    """Tell whether a text says nothing: an empty one to which the map gives no sense, or a named one."""
    told = _trimmed(text, conversion)
    if _plain(told) in map(_plain, conversion.unknown):
        return True
    if told or conversion.kind == "secret":
        return False
    groups = (conversion.none, conversion.yes, conversion.no, conversion.any_source, conversion.words or ())
    return not any("" in group for group in groups)


def convert(text: str, conversion: Conversion) -> object:
    """Return the value that a text becomes.

    Raises:
        ConversionError: if it can't become one; the error does not hold the text.
    """
    return _value(_trimmed(text, conversion), conversion)


def _value(text: str, conversion: Conversion) -> object:
    if len(text) > LONGEST_TEXT:
        raise ConversionError(f"a text of more than {LONGEST_TEXT} characters")
    try:
        return _KINDS[conversion.kind](text, conversion)
    except ConversionError as error:
        if is_masked(text):
            raise ConversionError(MASKED) from error
        raise


def convert_items(texts: Sequence[str], conversion: Conversion) -> list[object]:
    """Return the items that texts become; each text may hold several, and items are told once.

    Raises:
        ConversionError: if one of them can't become an item: half a list would be a wrong one.
    """
    items: list[object] = []
    for part in (part for text in texts for part in _parts(text, conversion)):
        if not is_unknown(part, conversion):
            value = _value(part.strip(), conversion)
            items += value if isinstance(value, list) else [value]
    return list({repr(item): item for item in items}.values())


def says_none(texts: Sequence[str], conversion: Conversion) -> bool:
    """Tell whether texts say that nothing is configured."""
    named = {_plain(word) for word in conversion.none}
    return bool(texts) and all(_plain(_trimmed(text, conversion)) in named for text in texts)


def _trimmed(text: str, conversion: Conversion) -> str:
    """Return what stands after one text and before another, as far as they are there."""
    if conversion.after and conversion.after in text:
        text = text.partition(conversion.after)[2]
    if conversion.before and conversion.before in text:
        text = text.partition(conversion.before)[0]
    return text if conversion.kind == "secret" else text.strip()


def _plain(word: str) -> str:
    return " ".join(word.split()).casefold()


def _bare(word: str) -> str:
    """Return a word without the signs that differ between exports: ``TLS 1.2`` is ``tls_1_2``."""
    return "".join(letter for letter in word.casefold() if letter.isalnum())


def _parts(text: str, conversion: Conversion) -> list[str]:
    text = _trimmed(text, conversion)
    pieces = text.split(conversion.split) if conversion.split else [text]
    return [piece for piece in pieces if piece.strip() or len(pieces) == 1]


def _text(text: str, _: Conversion) -> object:
    return text


def _truth(text: str, conversion: Conversion) -> object:
    word = _plain(text)
    if word in map(_plain, conversion.yes or TRUE_WORDS):
        return True
    if word in map(_plain, conversion.no or FALSE_WORDS):
        return False
    raise ConversionError("no word for true or false that is known (yes, no)")


def _word(text: str, conversion: Conversion) -> object:
    if conversion.words is not None and _plain(text) in conversion.words:
        return conversion.words[_plain(text)]
    bare = _bare(text)
    for value in conversion.values:
        if bare and _bare(value) == bare:
            return value
    raise ConversionError("no word that the map or the schema knows (words)")


def _number(text: str, conversion: Conversion) -> object:
    return quantity.number(text, conversion.unit_wanted, conversion.unit, decimal=conversion.decimal)


def _duration(text: str, conversion: Conversion) -> object:
    return quantity.duration(
        text, conversion.unit_wanted, conversion.unit, form=conversion.form, decimal=conversion.decimal
    )


def _sources(text: str, conversion: Conversion) -> object:
    if _plain(text) in map(_plain, conversion.any_source or ANY_WORDS):
        return {"any": True}
    if says_none([text], conversion):
        return {"prefixes": []}
    parts = [part for part in _parts(text, conversion) if part.strip()]
    if any(_plain(part) in map(_plain, conversion.any_source or ANY_WORDS) for part in parts):
        return {"any": True}
    found = (prefix for part in parts for prefix in network_form.prefixes(part))
    return {"prefixes": list(dict.fromkeys(found))}


def _secret(text: str, conversion: Conversion) -> object:
    if says_none([text], conversion):
        return {"empty": True}
    if not text.strip():
        raise ConversionError('an empty text: if it means an empty secret, let the map say so (none = [""])')
    if is_masked(text.strip()):
        raise ConversionError(MASKED)
    return _SECRETS[conversion.form or "clear"](text)


def _crypt(text: str) -> object:
    if not text.strip().startswith("$"):
        raise ConversionError("not a hash in crypt form, which begins with a dollar sign")
    return {"crypt": text.strip()}


def _localized(text: str) -> object:
    digits = text.strip().lower().removeprefix("0x")
    for sign in ": -":
        digits = digits.replace(sign, "")
    if not digits or set(digits) - set("0123456789abcdef"):
        raise ConversionError("not a localized key in hexadecimal digits")
    return {"localized": digits}


_SECRETS: Mapping[str, Callable[[str], object]] = {
    "clear": lambda text: {"clear": text},
    "crypt": _crypt,
    "localized": _localized,
}


def _date(text: str, conversion: Conversion) -> object:
    return moment.read_date(text, conversion.form)


def _moment(text: str, conversion: Conversion) -> object:
    return moment.read_moment(text, conversion.form, conversion.offset)


_KINDS: Mapping[str, Callable[[str, Conversion], object]] = {
    "text": _text,
    "truth": _truth,
    "word": _word,
    "number": _number,
    "duration": _duration,
    "address": lambda text, _: network_form.address(text),
    "prefix_length": lambda text, _: network_form.prefix_length(text),
    "prefix": lambda text, _: network_form.prefix(text),
    "sources": _sources,
    "host": lambda text, _: network_form.host(text),
    "port": lambda text, _: network_form.port(text),
    "mac": lambda text, _: network_form.mac_address(text),
    "date": _date,
    "moment": _moment,
    "secret": _secret,
}
