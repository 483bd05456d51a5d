"""How alike the name of a source setting and a setting of the record are. Knows names, no values."""

import re
from collections.abc import Iterable, Mapping
from difflib import get_close_matches
from functools import cache

from auditor.record.outline import ANY, Leaf, outline

_WORD = re.compile(r"[A-Z]?[a-z]+|[A-Z]+(?![a-z])|[0-9]+")
_CLOSE = 0.84

_COMMON = 3
"""Settings that share a name, from which on the name alone says nothing; our own figure."""

_LEAF_WEIGHT, _CONTEXT_WEIGHT, _ALONE = 0.65, 0.35, 0.9
"""How much the setting's own name counts beside what it stands in, or alone; our own figures, by trial."""

_SAYS_NOTHING = frozenset(
    (
        "show", "setup", "set", "get", "list", "config", "configuration", "setting", "the", "of", "this", "a",
        "service", "ms", "s", "sec", "second", "min", "minute", "h", "hour", "c",
    )
)  # fmt: skip
"""Words that say nothing of what a setting is: talk, units, and what stands above everything."""

# Words of the trade for the same thing, and the word that the record has for it.
SYNONYMS: Mapping[str, str] = {
    "addr": "address",
    "agent": "snmp",
    "auth": "authentication",
    "button": "reset button",
    "cert": "certificate",
    "clock": "time",
    "computer": "agent",
    "console": "serial console",
    "dst": "daylight saving",
    "email": "mail",
    "every": "poll interval",
    "expires": "not after",
    "family": "hardware family",
    "fw": "firmware",
    "gw": "gateway",
    "hostname": "host name",
    "idle": "session timeout",
    "ip": "address",
    "journal": "log",
    "lan": "network",
    "level": "role",
    "login": "name",
    "logins": "account",
    "mac": "mac address",
    "mask": "prefix length",
    "mode": "method",
    "model": "hardware family",
    "modbus": "modbus tcp",
    "nameserver": "dns server",
    "netmask": "prefix length",
    "ntp": "time server",
    "open": "enabled",
    "on": "enabled",
    "passwd": "password",
    "peer": "server",
    "people": "account",
    "person": "account",
    "phrase": "passphrase",
    "place": "location",
    "post": "mail",
    "privilege": "role",
    "proof": "authentication",
    "pwd": "password",
    "relay": "server",
    "release": "firmware version",
    "released": "firmware date",
    "resolver": "dns server",
    "right": "role",
    "router": "gateway",
    "serial": "serial number",
    "sink": "receiver",
    "smtp": "mail",
    "state": "enabled",
    "status": "enabled",
    "stop": "shutdown",
    "summer": "daylight saving",
    "switched": "enabled",
    "syslog": "log collector",
    "tcp": "port",
    "trap": "receiver",
    "tries": "attempts",
    "udp": "port",
    "user": "account",
    "username": "account name",
    "vlan": "vlan id",
    "web": "http",
    "wlan": "wifi",
    "zone": "timezone",
}


def words_of(name: str) -> frozenset[str]:
    """Return the words of a name, each as the record would have it."""
    found: set[str] = set()
    for word in _WORD.findall(name):
        found.update(_known(word.casefold()).split())
    return frozenset(found - _SAYS_NOTHING)


@cache
def _known(word: str) -> str:
    """Return the record's word for a word: a synonym, the same without its plural, or a close one."""
    for form in (word, word.removesuffix("s")):
        if form in SYNONYMS:
            return " ".join(_singular(part) for part in SYNONYMS[form].split())
    single = _singular(word)
    if single in _vocabulary():
        return single
    close = get_close_matches(single, _vocabulary(), n=1, cutoff=_CLOSE) if len(single) > 3 else []  # noqa: PLR2004 - letters
    return close[0] if close else single


def _singular(word: str) -> str:
    return word[:-1] if len(word) > 3 and word.endswith("s") and not word.endswith("ss") else word  # noqa: PLR2004 - letters


@cache
def _vocabulary() -> tuple[str, ...]:
    words = {_singular(word) for leaf in outline() for word in _plain_words(leaf)}
    return tuple(sorted(words))


def _plain_words(leaf: Leaf) -> Iterable[str]:
    return _WORD.findall(f"{' '.join(leaf.tokens)} {leaf.title} {' '.join(leaf.titles)}".lower())


@cache
def _target_words(leaf_tokens: tuple[str, ...]) -> tuple[frozenset[str], frozenset[str]]:
    """Return the words of a setting's own name, and of what it stands in."""
    names = [token for token in leaf_tokens if token != ANY]
    return _own_words(names[-1]), _own_words(" ".join(names[:-1]))


def _own_words(text: str) -> frozenset[str]:
    return frozenset(_singular(word) for word in _WORD.findall(text.lower())) - _SAYS_NOTHING


def similarity(own: frozenset[str], context: frozenset[str], leaf: Leaf) -> float:
    """Return how alike a source setting and a setting of the record are, 0 to 1.

    ``own`` are the words of the source setting's name, ``context`` those of what it stands in. A
    name that many settings have, such as ``enabled``, is alike only where what it stands in is.
    """
    name, around = _target_words(leaf.tokens)
    title = _own_words(leaf.title)
    if not own & (name | title) or (_is_common(leaf.tokens[-1]) and not (own | context) & (around - name)):
        return 0.0
    alike = max(_dice(own, name), _dice(own, title), _dice(own | context, name | around))
    if not context:
        return _ALONE * alike
    return _LEAF_WEIGHT * alike + _CONTEXT_WEIGHT * _dice(context | own, around | name)


@cache
def _is_common(last: str) -> bool:
    return sum(leaf.tokens[-1] == last for leaf in outline()) >= _COMMON


def _dice(one: frozenset[str], other: frozenset[str]) -> float:
    """Return the Sørensen-Dice coefficient of two sets, 0 to 1."""
    return 2 * len(one & other) / (len(one) + len(other)) if one and other else 0.0
