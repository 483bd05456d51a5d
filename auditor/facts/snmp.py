"""Facts on SNMP: what may be known of communities and passphrases. Judges no views."""

from auditor.facts.fact import Context, Settings, fact
from auditor.facts.secret_class import are_same, is_empty, is_well_known, length_of, same_as_key
from auditor.facts.sources import allows_any

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


@fact(reads=("/community",), about=_COMMUNITIES, source="common practice, no source", unit="characters")
def community_length(member: Settings, _record: Settings, _context: Context) -> int | None:
    """Length of the community string."""
    return length_of(member.get("community"))


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
    forms = {key[0] for row in rows if (key := same_as_key(row.get("community")))}
    return not are_sure or forms not in ({"clear"}, {"tag"})


@fact(reads=("/auth_secret",), about=_USERS, source="RFC 3414 section 11.2")
def snmp_auth_passphrase_is_empty(member: Settings, _record: Settings, _context: Context) -> bool | None:
    """Whether the authentication passphrase is the empty text."""
    return is_empty(member.get("auth_secret"))


@fact(reads=("/auth_secret",), about=_USERS, source="RFC 3414 section 11.2; common practice, no source")
def snmp_auth_passphrase_is_well_known(member: Settings, _record: Settings, context: Context) -> bool | None:
    """Whether the authentication passphrase is one of the well-known words."""
    return is_well_known(member.get("auth_secret"), context)


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
    member: Settings, _record: Settings, context: Context
) -> bool | None:
    """Whether the privacy passphrase is one of the well-known words."""
    return is_well_known(member.get("priv_secret"), context)


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
