"""Facts on SNMP: what may be known of communities and passphrases. Judges no views."""

from auditor.facts.fact import Context, Settings, fact
from auditor.facts.localized_key import is_key_of_well_known
from auditor.facts.own_names import own_names
from auditor.facts.secret_class import (
    Secret,
    are_comparable,
    are_same,
    is_common,
    is_empty,
    is_well_known,
    length_of,
    same_as_key,
)
from auditor.facts.secret_structure import derived_from, repeats_pattern
from auditor.facts.sources import allows_any
from auditor.facts.strength import GuessBand, withstands

_EMPTY: Settings = {}
_COMMUNITIES = "/snmp/communities"
_USERS = "/snmp/users"


@fact(reads=("/community",), about=_COMMUNITIES, source="RFC 3584 section 8")
def community_is_empty(member: Settings, _record: Settings, _context: Context) -> bool | None:
    """Whether the community string is the empty text."""
    return is_empty(member.get("community"))


@fact(reads=("/community",), about=_COMMUNITIES, source="common practice, no source")
def community_is_well_known(member: Settings, _record: Settings, context: Context) -> bool | None:
    """Whether the community string is one of the well-known words, such as public."""
    return is_well_known(member.get("community"), context)


@fact(reads=("/community",), about=_COMMUNITIES, source="NIST SP 800-63B (revision 3) section 5.1.1.2")
def community_is_common(member: Settings, _record: Settings, context: Context) -> bool | None:
    """Whether the community string stands in the frequency lists of common words, and is not well known."""
    return is_common(member.get("community"), context)


@fact(reads=("/community",), about=_COMMUNITIES, source="common practice, no source", unit="characters")
def community_length(member: Settings, _record: Settings, _context: Context) -> int | None:
    """Length of the community string."""
    return length_of(member.get("community"))


@fact(reads=("/community",), about=_COMMUNITIES, source="common practice, no source")
def community_derived_from(member: Settings, record: Settings, context: Context) -> str | None:
    """Name what cheap thing the community string is made of, such as own_name, or say nothing."""
    return derived_from(member.get("community"), own_names(record, member), context)


@fact(reads=("/community",), about=_COMMUNITIES, source="own limits, argued at GuessBand")
def community_withstands_guessing(member: Settings, record: Settings, _context: Context) -> bool | None:
    """Whether guessing at the port, which never locks, would need 10^11 guesses or more."""
    return withstands(member.get("community"), own_names(record, member), GuessBand.OFFLINE_SLOW)


@fact(reads=("/allowed_sources",), about=_COMMUNITIES, source="RFC 3584 section 5.3")
def community_accepts_any_source(member: Settings, _record: Settings, _context: Context) -> bool | None:
    """Whether every address may use the community: said so, or by a prefix of length 0.

    The card's own filter is left out of account: it is a second fence, not this one.
    """
    return allows_any(member.get("allowed_sources"))


@fact(reads=(_COMMUNITIES,), source="RFC 3584 section 8; common practice, no source")
def reading_community_can_write(record: Settings, _context: Context) -> bool | None:
    """Whether one and the same community string stands in a row for reading and in one for writing."""
    rows = record.get("snmp", _EMPTY).get("communities")
    if rows is None:
        return None
    live = [row for row in rows if row.get("enabled") is not False and row.get("access") != "none"]
    if len(live) < 2:  # noqa: PLR2004 - one for reading, one for writing
        return False
    sure = [
        row for row in live if row.get("enabled") and "access" in row and same_as_key(row.get("community"))
    ]
    if not _keys(sure, "read").isdisjoint(_keys(sure, "write")):
        return True
    return None if _may_meet(live, are_sure=len(sure) == len(live)) else False


def _keys(rows: list[Settings], access: str) -> set[tuple[str, str] | None]:
    return {same_as_key(row.get("community")) for row in rows if row["access"] == access}


def _may_meet(rows: list[Settings], *, are_sure: bool) -> bool:
    """Return whether a row for reading and another for writing may yet prove to be the same."""
    readers = [row for row in rows if row.get("access") != "write"]
    writers = [row for row in rows if row.get("access") != "read"]
    if not readers or not writers:
        return False
    return not are_sure or not are_comparable(same_as_key(row.get("community")) for row in rows)


@fact(reads=("/auth_secret",), about=_USERS, source="RFC 3414 section 11.2")
def snmp_auth_passphrase_is_empty(member: Settings, _record: Settings, _context: Context) -> bool | None:
    """Whether the authentication passphrase is the empty text."""
    return is_empty(member.get("auth_secret"))


@fact(reads=("/auth_secret",), about=_USERS, source="RFC 3414 section 11.2; common practice, no source")
def snmp_auth_passphrase_is_well_known(member: Settings, record: Settings, context: Context) -> bool | None:
    """Whether the authentication passphrase is one of the well-known words.

    A localized key does not hide it: the key of every listed word is made for this engine.
    """
    return _passphrase_is_well_known(member.get("auth_secret"), member, record, context)


@fact(reads=("/auth_secret",), about=_USERS, source="NIST SP 800-63B (revision 3) section 5.1.1.2")
def snmp_auth_passphrase_is_common(member: Settings, _record: Settings, context: Context) -> bool | None:
    """Whether the authentication passphrase stands in the frequency lists; a localized key hides it."""
    return is_common(member.get("auth_secret"), context)


@fact(reads=("/auth_secret",), about=_USERS, source="RFC 3414 section 11.2")
def snmp_auth_passphrase_repeats_pattern(
    member: Settings, _record: Settings, _context: Context
) -> bool | None:
    """Whether the authentication passphrase is a shorter text over and over, and its key that of the text."""
    return repeats_pattern(member.get("auth_secret"))


@fact(reads=("/auth_secret",), about=_USERS, source="RFC 3414 A.2; own limits, argued at GuessBand")
def snmp_auth_passphrase_withstands_capture(
    member: Settings, record: Settings, _context: Context
) -> bool | None:
    """Whether guessing on a captured message would need 10^11 guesses or more."""
    return withstands(member.get("auth_secret"), own_names(record, member), GuessBand.OFFLINE_SLOW)


@fact(reads=("/auth_secret",), about=_USERS, source="RFC 3414 section 11.2", unit="characters")
def snmp_auth_passphrase_length(member: Settings, _record: Settings, _context: Context) -> int | None:
    """Length of the authentication passphrase."""
    return length_of(member.get("auth_secret"))


@fact(reads=("/priv_secret",), about=_USERS, source="RFC 3414 section 11.2")
def snmp_privacy_passphrase_is_empty(member: Settings, _record: Settings, _context: Context) -> bool | None:
    """Whether the privacy passphrase is the empty text."""
    return is_empty(member.get("priv_secret"))


@fact(reads=("/priv_secret",), about=_USERS, source="RFC 3414 section 11.2; common practice, no source")
def snmp_privacy_passphrase_is_well_known(
    member: Settings, record: Settings, context: Context
) -> bool | None:
    """Whether the privacy passphrase is one of the well-known words.

    A localized key does not hide it: the key of every listed word is made for this engine.
    """
    return _passphrase_is_well_known(member.get("priv_secret"), member, record, context)


@fact(reads=("/priv_secret",), about=_USERS, source="NIST SP 800-63B (revision 3) section 5.1.1.2")
def snmp_privacy_passphrase_is_common(member: Settings, _record: Settings, context: Context) -> bool | None:
    """Whether the privacy passphrase stands in the frequency lists; a localized key hides it."""
    return is_common(member.get("priv_secret"), context)


@fact(reads=("/priv_secret",), about=_USERS, source="RFC 3414 section 11.2")
def snmp_privacy_passphrase_repeats_pattern(
    member: Settings, _record: Settings, _context: Context
) -> bool | None:
    """Whether the privacy passphrase is a shorter text over and over, and its key that of the text."""
    return repeats_pattern(member.get("priv_secret"))


@fact(reads=("/priv_secret",), about=_USERS, source="RFC 3414 A.2; own limits, argued at GuessBand")
def snmp_privacy_passphrase_withstands_capture(
    member: Settings, record: Settings, _context: Context
) -> bool | None:
    """Whether guessing on a captured message would need 10^11 guesses or more."""
    return withstands(member.get("priv_secret"), own_names(record, member), GuessBand.OFFLINE_SLOW)


@fact(reads=("/priv_secret",), about=_USERS, source="RFC 3826 section 1.3", unit="characters")
def snmp_privacy_passphrase_length(member: Settings, _record: Settings, _context: Context) -> int | None:
    """Length of the privacy passphrase."""
    return length_of(member.get("priv_secret"))


@fact(reads=("/priv_secret", "/auth_secret"), about=_USERS, source="RFC 3414 section 11.2")
def snmp_user_has_one_passphrase(member: Settings, _record: Settings, _context: Context) -> bool | None:
    """Whether authentication and privacy of a user rest on the same passphrase.

    An AES key is the head of the localized key (RFC 3826), so of two keys of different
    length only the shorter length is compared.
    """
    return are_same(member.get("auth_secret"), member.get("priv_secret"), one_user=True)


def _passphrase_is_well_known(
    secret: Secret, user: Settings, record: Settings, context: Context
) -> bool | None:
    if secret and "localized" in secret:
        return is_key_of_well_known(secret["localized"], user, record, context)
    return is_well_known(secret, context)
