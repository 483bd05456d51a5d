"""Recipes for SNMP, alarms and events: what monitoring sees of the card."""

from collections.abc import Iterator
from typing import Any, Final

from auditor.procedure.bench import Bench
from auditor.procedure.edit import APPEND, Edit, EditKind
from auditor.procedure.new_secret import new_secret
from auditor.record.settings import Settings

NEW_USER: Final = "new-v3-user"
"""Stands in an after-image for a user whose name the site gives."""

_SNMP: Final = ("snmp",)
_ANOTHER_SERVER: Final = "Another time server of the site, in the place of the one that stands there twice"
_STATION: Final = "the monitoring stations, by their addresses, as the site lists them"


def community(record: Settings, member: tuple[str, ...], bench: Bench) -> Iterator[Edit]:
    """Switch a row off where v1 and v2c go or are off; else give it a new community, for few sources."""
    rows = [member] if member else [(*_SNMP, "communities", str(at)) for at in range(len(_rows(record)))]
    for row in rows:
        if "snmp-cleartext-version-enabled" in bench.mending or record["snmp"].get("versions") == ["v3"]:
            yield Edit((*row, "enabled"), value=False)
        else:
            yield from _kept_row(_rows(record)[int(row[-1])], row, bench)


def _kept_row(settings: Settings, row: tuple[str, ...], bench: Bench) -> Iterator[Edit]:
    least = bench.value("community_characters_minimum", 0)
    yield new_secret(bench.card_id, (*row, "community"), int(str(least)))
    sources = settings.get("allowed_sources", {"any": True})
    if "any" in sources or any(prefix.endswith("/0") for prefix in sources["prefixes"]):
        yield Edit((*row, "allowed_sources"), {"prefixes": []}, EditKind.ON_PROOF, f"Only {_STATION}")


def _rows(record: Settings) -> list[Settings]:
    rows: list[Settings] = record["snmp"].get("communities", [])
    return rows


def no_cleartext_snmp(record: Settings, _member: tuple[str, ...], bench: Bench) -> Iterator[Edit]:
    """Answer v3 alone; where no v3 user is there, add one first."""
    yield from _user_if_none(record, bench)
    yield Edit((*_SNMP, "versions"), ["v3"])


def notify_by_v3(record: Settings, member: tuple[str, ...], bench: Bench) -> Iterator[Edit]:
    """Send notifications by v3 with authPriv, as a user that is there or a new one."""
    yield from _user_if_none(record, bench)
    yield Edit((*member, "version"), "v3")
    yield Edit((*member, "level"), "authPriv")
    receiver = record["snmp"]["receivers"][int(member[-1])]
    names = [user["name"] for user in _strong_users(record) if "name" in user]
    if receiver.get("user") not in names:
        yield Edit((*member, "user"), names[0] if names else NEW_USER)


def read_only_user(record: Settings, member: tuple[str, ...], _bench: Bench) -> Iterator[Edit]:
    """Take the right to write from a user, and the write views from the groups it is in."""
    yield Edit((*member, "access"), "read")
    snmp = record["snmp"]
    name = snmp["users"][int(member[-1])].get("name")
    vacm = snmp.get("vacm", {})
    groups = {
        row.get("group")
        for row in vacm.get("groups", ())
        if row.get("security_name") == name and row.get("security_model") == "usm"
    }
    for at, row in enumerate(vacm.get("access", ())):
        if row.get("group") in groups and row.get("write_view") != "":
            yield Edit((*_SNMP, "vacm", "access", str(at), "write_view"), "")


def more_alarms(record: Settings, _member: tuple[str, ...], bench: Bench) -> Iterator[Edit]:
    """Select the critical alarms for every enabled receiver and recipient that has some selected."""
    wanted = _critical_alarms(record, bench)
    for section, name in (("snmp", "receivers"), ("mail", "recipients")):
        for at, member in enumerate(record.get(section, {}).get(name, ())):
            chosen = member.get("alarms")
            more = [alarm for alarm in wanted if alarm not in (chosen or ())]
            if member.get("enabled") and chosen and more:
                yield Edit((section, name, str(at), "alarms"), [*chosen, *more])


def time_servers(record: Settings, _member: tuple[str, ...], bench: Bench) -> Iterator[Edit]:
    """Enter the site's time servers, each once, until there are enough; the site names them."""
    servers = record.get("time", {}).get("servers")
    if servers is None:
        return
    kept: list[Settings] = []
    known: set[str] = set()
    for at, server in enumerate(servers):
        host = server.get("host", "").lower().rstrip(".")
        if host in known:
            yield Edit(("time", "servers", str(at), "host"), kind=EditKind.ASKED, note=_ANOTHER_SERVER)
        kept.append(server if host not in known else {k: v for k, v in server.items() if k != "host"})
        known |= {host} - {""}
    least = int(str(bench.value("time_servers_minimum", 4)))
    if len(servers) < least:
        new: list[Settings] = [{"authentication": "nts"}] * (least - len(servers))
        note = f"{least} servers in all, of the site's choice and independent of each other, with NTS"
        yield Edit(("time", "servers"), [*kept, *new], EditKind.ON_PROOF, note)


def new_collector(record: Settings, _member: tuple[str, ...], bench: Bench) -> Iterator[Edit]:
    """Add a collector of the site's, over TLS, and see a test event arrive."""
    collector = {
        "enabled": True,
        "port": 6514,
        "transport": "tls",
        "verify_certificate": True,
        "tested_on": bench.context.as_of.date().isoformat(),
    }
    note = (
        "The site's collector: host by the site, TLS on port 6514, its certificate checked; a test event seen"
    )
    yield from _added(record, ("log", "collectors"), collector, note)


def new_receiver(record: Settings, _member: tuple[str, ...], bench: Bench) -> Iterator[Edit]:
    """Add the monitoring station as a receiver by v3 with authPriv, and see a test arrive."""
    yield from _user_if_none(record, bench)
    names = [user["name"] for user in _strong_users(record) if "name" in user] if "snmp" in record else []
    receiver = {
        "name": "new-receiver",
        "enabled": True,
        "version": "v3",
        "level": "authPriv",
        "user": names[0] if names else NEW_USER,
        "kind": "inform",
        "alarms": _critical_alarms(record, bench),
        "tested_on": bench.context.as_of.date().isoformat(),
    }
    note = "The monitoring station: host by the site, v3 authPriv, informs, the critical alarms; a test seen"
    yield from _added(record, ("snmp", "receivers"), receiver, note)


def new_recipient(record: Settings, _member: tuple[str, ...], bench: Bench) -> Iterator[Edit]:
    """Add the group on duty as a recipient of the critical alarms."""
    recipient = {"enabled": True, "alarms": _critical_alarms(record, bench)}
    note = "The mailbox of the group on duty, by the site, with the critical alarms"
    yield from _added(record, ("mail", "recipients"), recipient, note)


def second_way(record: Settings, member: tuple[str, ...], bench: Bench) -> Iterator[Edit]:
    """Add a way of another kind: a receiver where none is enabled, else a collector."""
    receivers = record.get("snmp", {}).get("receivers")
    if receivers is not None and not any(receiver.get("enabled") for receiver in receivers):
        yield from new_receiver(record, member, bench)
    else:
        yield from new_collector(record, member, bench)
        events = record.get("log", {}).get("events")
        if events is not None and "power_event" not in events:
            yield Edit(("log", "events"), [*events, "power_event"])


def _added(record: Settings, place: tuple[str, str], value: dict[str, Any], note: str) -> Iterator[Edit]:
    """Add a member to a list that was captured; twice the same is added once."""
    members = record.get(place[0], {}).get(place[1])
    if members is not None and value not in members:
        yield Edit((*place, APPEND), value, EditKind.ON_PROOF, note)


def _critical_alarms(record: Settings, bench: Bench) -> list[str]:
    battery = record.get("equipment", {}).get("kind") == "ups"
    more = _words(bench, "critical_battery_alarms") if battery else []
    return list(dict.fromkeys([*_words(bench, "critical_alarms"), *more]))


def security_events(record: Settings, _member: tuple[str, ...], bench: Bench) -> Iterator[Edit]:
    """Log the kinds of event that reviews need, beside those that are logged already."""
    logged = record.get("log", {}).get("events", [])
    wanted = [*_words(bench, "security_events_required"), *_words(bench, "review_events")]
    yield Edit(("log", "events"), list(dict.fromkeys([*logged, *wanted])))


def _words(bench: Bench, parameter: str) -> list[str]:
    value = bench.value(parameter, ())
    return list(value) if isinstance(value, list | tuple) else []


def _strong_users(record: Settings) -> list[Settings]:
    users = record["snmp"].get("users", ())
    return [user for user in users if user.get("enabled") is not False and user.get("level") == "authPriv"]


def _user_if_none(record: Settings, bench: Bench) -> Iterator[Edit]:
    """Add a v3 user where surely none is enabled; what was not captured may hold one."""
    users = record.get("snmp", {}).get("users")
    if users is None or any(user.get("enabled") is not False for user in users):
        return
    tokens = (*_SNMP, "users", str(len(users)))
    least = int(str(bench.value("snmp_passphrase_characters_minimum", 0)))
    secrets = {
        name: new_secret(bench.card_id, (*tokens, name), least) for name in ("auth_secret", "priv_secret")
    }
    user: dict[str, Any] = {
        "name": NEW_USER,
        "enabled": True,
        "level": "authPriv",
        "auth_protocol": "sha256",
        "priv_protocol": "aes128",
        "access": "read",
        **{name: secret.value for name, secret in secrets.items()},
    }
    note = (
        "A v3 user of the site's naming: authPriv, SHA-256, AES-128, read only, with two passphrases. Each: "
        f"{secrets['auth_secret'].note}"
    )
    yield Edit((*_SNMP, "users", APPEND), user, EditKind.ON_PROOF, note)
