"""Facts on SSH of the card's own server: which of its algorithms are weak. Names no grades."""

from collections.abc import Callable
from functools import lru_cache

from auditor.facts.fact import Context, Settings, fact
from auditor.facts.ssh_names import AlgorithmGrade, cipher_grade, key_exchange_grade, mac_grade

_EMPTY: Settings = {}


@fact(reads=("/ssh/key_exchange",), source="RFC 9142 section 4")
def weak_ssh_key_exchanges(record: Settings, _context: Context) -> tuple[str, ...] | None:
    """Key exchanges that are offered although the standard advises against them, in order."""
    return _graded(_offered(record, "key_exchange"), key_exchange_grade, AlgorithmGrade.WEAK)


@fact(reads=("/ssh/ciphers",), source="RFC 8758; RFC 4253 section 6.3; the tables of ssh_names")
def weak_ssh_ciphers(record: Settings, _context: Context) -> tuple[str, ...] | None:
    """Ciphers that are offered although they are broken, too short or none, in order."""
    return _graded(_offered(record, "ciphers"), cipher_grade, AlgorithmGrade.WEAK)


@fact(reads=("/ssh/ciphers",), source="CVE-2008-5161 (from memory)")
def discouraged_ssh_ciphers(record: Settings, _context: Context) -> tuple[str, ...] | None:
    """Ciphers in CBC mode that are offered, in order; those that are weak anyhow left out."""
    return _graded(_offered(record, "ciphers"), cipher_grade, AlgorithmGrade.DISCOURAGED)


@fact(reads=("/ssh/macs",), source="RFC 6151 section 2.3 (from memory); the tables of ssh_names")
def weak_ssh_macs(record: Settings, _context: Context) -> tuple[str, ...] | None:
    """MACs that are offered although they are on MD5, cut short or none, in order."""
    return _graded(_offered(record, "macs"), mac_grade, AlgorithmGrade.WEAK)


def _offered(record: Settings, name: str) -> tuple[str, ...] | None:
    names = record.get("ssh", _EMPTY).get(name)
    return None if names is None else tuple(names)


@lru_cache(maxsize=256)  # the cards of an estate share a few lists
def _graded(
    names: tuple[str, ...] | None,
    grade_of: Callable[[str], AlgorithmGrade | None],
    wanted: AlgorithmGrade,
) -> tuple[str, ...] | None:
    """Return the names of a grade; unknown where there are none but some name is not known."""
    if names is None:
        return None
    grades = [grade_of(name) for name in names]
    found = tuple(name for name, grade in zip(names, grades, strict=True) if grade is wanted)
    return None if not found and None in grades else found
