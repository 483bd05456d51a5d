"""Facts on local accounts: their passwords, owners and number."""

from collections import Counter
from itertools import islice

from auditor.facts.calendar_day import day_of, days_since
from auditor.facts.crypt_hash import opens_with, scheme_of
from auditor.facts.fact import Context, FactValue, Settings, fact
from auditor.facts.own_names import own_names
from auditor.facts.secret_class import (
    EMPTY_KEY,
    are_comparable,
    is_common,
    is_empty,
    is_guessable,
    is_well_known,
    length_of,
    same_as_key,
)
from auditor.facts.secret_structure import derived_from
from auditor.facts.strength import GuessBand, withstands

_PRACTICE = "common practice, no source"
_SP_800_63B = "NIST SP 800-63B (revision 3) section 5.1.1.2"

_HASHES_TRIED = 16
"""Hashes of one card on which words are tried: each word takes milliseconds. Own choice."""

_PLACEHOLDERS = frozenset(
    {
        "-", "?", "all", "any", "anybody", "anyone", "everybody", "everyone", "n/a", "na", "nil",
        "no", "nobody", "none", "not known", "not set", "shared", "somebody", "someone", "tba",
        "tbc", "tbd", "to be defined", "unassigned", "unknown", "various", "x", "xx", "xxx",
    }
)  # fmt: skip

_GENERIC_NAMES = frozenset(
    {
        "account", "adm", "admin", "admin1", "administrator", "default", "device", "engineer",
        "engineering", "guest", "installer", "it", "local", "login", "maint", "maintenance",
        "manager", "netadmin", "network", "oper", "operator", "power", "root", "service", "shift",
        "site", "super", "superuser", "support", "sys", "sysadmin", "system", "tech",
        "technician", "temp", "test", "ups", "user", "user1", "viewer", "visitor",
    }
)  # fmt: skip


@fact(about="/accounts", reads=["/password"], source=_PRACTICE)
def password_is_empty(account: Settings, _record: Settings, _context: Context) -> bool | None:
    """Say whether the password is the empty text; a crypt hash hides it."""
    return is_empty(account.get("password"))


@fact(about="/accounts", reads=["/password"], source=_SP_800_63B)
def password_is_well_known(account: Settings, _record: Settings, context: Context) -> bool | None:
    """Say whether the password stands in the list of well-known words."""
    return is_well_known(account.get("password"), context)


@fact(about="/accounts", reads=["/password"], source=_SP_800_63B)
def password_is_common(account: Settings, _record: Settings, context: Context) -> bool | None:
    """Say whether the password stands in the frequency lists of common words, and is not well known."""
    return is_common(account.get("password"), context)


@fact(about="/accounts", reads=["/password"], source=_SP_800_63B)
def password_is_guessable(account: Settings, _record: Settings, context: Context) -> bool | None:
    """Say whether the password is empty or a well-known word."""
    return is_guessable(account.get("password"), context)


@fact(about="/accounts", reads=["/password"], unit="characters", source=_SP_800_63B)
def password_length(account: Settings, _record: Settings, _context: Context) -> int | None:
    """Count the characters of the password."""
    return length_of(account.get("password"))


@fact(about="/accounts", reads=["/password"], source=_SP_800_63B)
def password_derived_from(account: Settings, record: Settings, context: Context) -> str | None:
    """Name what cheap thing the password is made of, or say nothing.

    It is a well-known word with a simple ending, a repeated pattern, a date, or names of the
    card and the account. Unknown where no such thing is found but a name was not captured.
    """
    return derived_from(account.get("password"), own_names(record, account), context)


@fact(about="/accounts", reads=["/password"], source=f"{_SP_800_63B}; own limits, argued at GuessBand")
def password_withstands_login_guessing(account: Settings, record: Settings, _context: Context) -> bool | None:
    """Say whether patient guessing at the login would need 10^8 guesses or more."""
    return withstands(account.get("password"), own_names(record, account), GuessBand.ONLINE)


@fact(about="/accounts", reads=["/password"], source="RFC 7317, module iana-crypt-hash")
def password_is_hashed(account: Settings, _record: Settings, _context: Context) -> bool | None:
    """Say whether the record holds a hash of the password; $0$ is clear text, no hash."""
    secret = account.get("password")
    return None if not secret else not secret.get("crypt", "$0$").startswith("$0$")


@fact(about="/accounts", reads=["/password"], source="RFC 7317, module iana-crypt-hash; common practice")
def password_hash_grade(account: Settings, _record: Settings, _context: Context) -> str | None:
    """Grade the scheme of the password's hash: weak, acceptable or strong."""
    scheme = scheme_of((account.get("password") or {}).get("crypt", ""))
    return None if scheme is None else str(scheme.grade)


@fact(about="/accounts", reads=["/password"], source=_PRACTICE)
def password_hash_opens_with_default(account: Settings, record: Settings, context: Context) -> bool | None:
    """Say whether a word of the short list, or the account's name, opens the password's hash.

    Unknown for schemes that can't be tried, for hashes that are too dear, and beyond the first
    16 hashes of a card: the work on one card is bounded.
    """
    crypt = (account.get("password") or {}).get("crypt")
    if crypt is None or not context.hash_words or not _is_among_first_hashes(account, record):
        return None
    return opens_with(crypt, (*context.hash_words, account["name"]))


@fact(
    about="/accounts",
    reads=["/password_changed_on"],
    unit="days",
    source="NERC CIP-007-6 R5 part 5.6",
    by_day=True,
)
def password_age_days(account: Settings, _record: Settings, context: Context) -> int | None:
    """Count the days since the password was last changed."""
    return days_since(account.get("password_changed_on"), context)


@fact(about="/accounts", reads=["/password_changed_on"], source="NERC CIP-007-6 R5 part 5.4")
def password_changed_since_installation(
    account: Settings, record: Settings, _context: Context
) -> bool | None:
    """Say whether the last change lies on or after the day the card went into service.

    The day it went into service stands at /card/installed_on.
    """
    changed = day_of(account.get("password_changed_on"))
    installed = day_of(record["card"].get("installed_on"))
    return None if changed is None or installed is None else changed >= installed


@fact(about="/accounts", reads=["/owner"], source="NIST SP 800-53r5 AC-2")
def owner_is_placeholder(account: Settings, _record: Settings, _context: Context) -> bool | None:
    """Say whether the owner is a word that names nobody, or only the account's own name."""
    owner = account.get("owner")
    if owner is None:
        return None
    plain = owner.strip().lower()
    return not plain or plain in _PLACEHOLDERS or plain == account["name"].lower()


@fact(about="/accounts", reads=["/name"], source=_PRACTICE)
def name_is_generic(account: Settings, _record: Settings, _context: Context) -> bool:
    """Say whether the login name names a task or the equipment, not a person."""
    return account["name"].strip().lower() in _GENERIC_NAMES


@fact(reads=["/accounts"], unit="accounts", source="NIST SP 800-53r5 AC-6")
def administrator_count(record: Settings, _context: Context) -> int | None:
    """Count the enabled local administrators; unknown if one account may or may not be one."""
    accounts = record.get("accounts")
    if accounts is None:
        return None
    parts = [_is_active_administrator(account) for account in accounts]
    return None if None in parts else parts.count(True)


@fact(reads=["/accounts"], source="NIST SP 800-53r5 IA-5")
def accounts_sharing_passwords(record: Settings, _context: Context) -> FactValue:
    """Name the accounts whose password is also that of another account, in record order.

    Empty passwords are left to their own rule. Unknown if nothing is found and some pair
    can't be compared, such as two hashes with different salts.
    """
    accounts = record.get("accounts")
    if accounts is None:
        return None
    keys = [same_as_key(account.get("password")) for account in accounts]
    filled = [key for key in keys if key != EMPTY_KEY]
    if len(set(filled)) < len(filled):
        repeated = {key for key, count in Counter(filled).items() if key and count > 1}
        if repeated:
            return tuple(a["name"] for a, key in zip(accounts, keys, strict=True) if key in repeated)
    return () if len(filled) <= 1 or are_comparable(filled) else None


def _is_active_administrator(account: Settings) -> bool | None:
    role, enabled = account.get("role"), account.get("enabled")
    if enabled is False or (role is not None and role != "administrator"):
        return False
    return None if role is None or enabled is None else True


def _is_among_first_hashes(account: Settings, record: Settings) -> bool:
    hashed = (other for other in record["accounts"] if "crypt" in other.get("password", ()))
    return any(other is account for other in islice(hashed, _HASHES_TRIED))
