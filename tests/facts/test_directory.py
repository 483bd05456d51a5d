"""Facts on central accounts: servers on different hosts, and what their secrets give away."""

from datetime import UTC, datetime

import pytest

from auditor.facts import directory
from auditor.facts.fact import Context, Fact, Settings

CONTEXT = Context(datetime(2026, 11, 25, 12, tzinfo=UTC), frozenset({"secret"}))
COUNTS = [("ldap", directory.ldap_server_count), ("radius", directory.radius_server_count)]


def record(kind: str, hosts: list[str | None]) -> Settings:
    """Return a card with these servers; None is a server without a host."""
    servers = [{"port": 1} if host is None else {"host": host} for host in hosts]
    return {"directory": {kind: {"servers": servers}}}


@pytest.mark.parametrize(("kind", "fact"), COUNTS)
def test_servers_are_counted_by_host(kind: str, fact: Fact) -> None:
    """The same host, however it is spelt, is one server."""
    assert fact(record(kind, ["a.example.org", "A.example.org.", "b.example.org"]), CONTEXT) == 2
    assert fact(record(kind, []), CONTEXT) == 0


@pytest.mark.parametrize(("kind", "fact"), COUNTS)
def test_a_server_without_a_host_leaves_the_count_open(kind: str, fact: Fact) -> None:
    """It may be another server or the same one."""
    assert fact(record(kind, ["a.example.org", None]), CONTEXT) is None
    assert fact({"directory": {kind: {}}}, CONTEXT) is None
    assert fact({}, CONTEXT) is None


def test_the_bind_password_tells_whether_it_is_empty_or_well_known() -> None:
    """RFC 4513 section 5.1.2: an empty password makes an unauthenticated bind."""
    bound = {"directory": {"ldap": {"bind": {"password": {"clear": "Secret"}}}}}
    assert directory.ldap_bind_password_is_empty(bound, CONTEXT) is False
    assert directory.ldap_bind_password_is_well_known(bound, CONTEXT) is True
    empty = {"directory": {"ldap": {"bind": {"password": {"empty": True}}}}}
    assert directory.ldap_bind_password_is_empty(empty, CONTEXT) is True
    assert directory.ldap_bind_password_is_empty({}, CONTEXT) is None
    assert directory.ldap_bind_password_is_well_known({}, CONTEXT) is None


def test_a_shared_secret_tells_length_and_list() -> None:
    """Each server is judged by its own secret."""
    server = {"shared_secret": {"sealed": {"length": 15, "listed": "none"}}}
    assert directory.radius_secret_is_empty(server, {}, CONTEXT) is False
    assert directory.radius_secret_is_well_known(server, {}, CONTEXT) is False
    assert directory.radius_secret_length(server, {}, CONTEXT) == 15
    assert directory.radius_secret_length({}, {}, CONTEXT) is None
