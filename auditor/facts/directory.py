"""Facts on central accounts: how many servers there are, and how good their secrets."""

from auditor.facts.fact import Context, Settings, fact
from auditor.facts.own_names import own_names
from auditor.facts.secret_class import is_common, is_empty, is_well_known, length_of
from auditor.facts.strength import GuessBand, withstands

_EMPTY: Settings = {}
_RADIUS_SERVERS = "/directory/radius/servers"


@fact(reads=("/directory/ldap/servers",), source="common practice, no source", unit="servers")
def ldap_server_count(record: Settings, _context: Context) -> int | None:
    """Count of LDAP servers on different hosts."""
    return _host_count(record, "ldap")


@fact(reads=(_RADIUS_SERVERS,), source="common practice, no source", unit="servers")
def radius_server_count(record: Settings, _context: Context) -> int | None:
    """Count of RADIUS servers on different hosts."""
    return _host_count(record, "radius")


def _host_count(record: Settings, kind: str) -> int | None:
    servers = record.get("directory", _EMPTY).get(kind, _EMPTY).get("servers")
    if servers is None:
        return None
    hosts = {server.get("host", "").lower().rstrip(".") for server in servers}
    return None if "" in hosts else len(hosts)


@fact(reads=("/directory/ldap/bind/password",), source="RFC 4513 section 5.1.2")
def ldap_bind_password_is_empty(record: Settings, _context: Context) -> bool | None:
    """Whether the bind password is the empty text: the bind then proves nothing."""
    return is_empty(_bind(record).get("password"))


@fact(reads=("/directory/ldap/bind/password",), source="common practice, no source")
def ldap_bind_password_is_well_known(record: Settings, context: Context) -> bool | None:
    """Whether the bind password is one of the well-known words."""
    return is_well_known(_bind(record).get("password"), context)


@fact(reads=("/directory/ldap/bind/password",), source="NIST SP 800-63B (revision 3) section 5.1.1.2")
def ldap_bind_password_is_common(record: Settings, context: Context) -> bool | None:
    """Whether the bind password stands in the frequency lists of common words, and is not well known."""
    return is_common(_bind(record).get("password"), context)


@fact(
    reads=("/directory/ldap/bind/password",), unit="characters", source="NIST SP 800-63B revision 4 (length)"
)
def ldap_bind_password_length(record: Settings, _context: Context) -> int | None:
    """Length of the bind password."""
    return length_of(_bind(record).get("password"))


def _bind(record: Settings) -> Settings:
    bind: Settings = record.get("directory", _EMPTY).get("ldap", _EMPTY).get("bind", _EMPTY)
    return bind


@fact(reads=("/shared_secret",), about=_RADIUS_SERVERS, source="RFC 2865 section 3")
def radius_secret_is_empty(member: Settings, _record: Settings, _context: Context) -> bool | None:
    """Whether the secret shared with the server is the empty text."""
    return is_empty(member.get("shared_secret"))


@fact(
    reads=("/shared_secret",), about=_RADIUS_SERVERS, source="RFC 2865 section 3; common practice, no source"
)
def radius_secret_is_well_known(member: Settings, _record: Settings, context: Context) -> bool | None:
    """Whether the secret shared with the server is one of the well-known words."""
    return is_well_known(member.get("shared_secret"), context)


@fact(reads=("/shared_secret",), about=_RADIUS_SERVERS, source="NIST SP 800-63B (revision 3) section 5.1.1.2")
def radius_secret_is_common(member: Settings, _record: Settings, context: Context) -> bool | None:
    """Whether the secret shared with the server stands in the frequency lists, and is not well known."""
    return is_common(member.get("shared_secret"), context)


@fact(reads=("/shared_secret",), about=_RADIUS_SERVERS, source="RFC 2865 section 3", unit="characters")
def radius_secret_length(member: Settings, _record: Settings, _context: Context) -> int | None:
    """Length of the secret shared with the server. A character takes one octet or more."""
    return length_of(member.get("shared_secret"))


@fact(
    reads=("/shared_secret",),
    about=_RADIUS_SERVERS,
    source="RFC 2865 section 3; own limits, argued at GuessBand",
)
def radius_secret_withstands_capture(member: Settings, record: Settings, _context: Context) -> bool | None:
    """Whether guessing on a captured packet would need 10^15 guesses or more."""
    return withstands(member.get("shared_secret"), own_names(record, member), GuessBand.OFFLINE_FAST)
