"""The recipes by the names that rulesets use; the ruleset schema lists the same names."""

from collections.abc import Callable, Iterator, Mapping
from typing import Final, TypeAlias

from auditor.procedure.bench import Bench
from auditor.procedure.edit import Edit
from auditor.procedure.recipe import accounts, ciphers, monitoring, reach, sources
from auditor.record.settings import Settings

Recipe: TypeAlias = Callable[[Settings, tuple[str, ...], Bench], Iterator[Edit]]
"""Takes a record, the tokens of the member that a finding is about (empty for the card) and the
bench; yields changes, none where it has no answer. Pure."""

RECIPES: Final[Mapping[str, Recipe]] = {
    "certificate": ciphers.certificate,
    "close-ways": reach.close_ways,
    "community": monitoring.community,
    "fewer-administrators": accounts.fewer_administrators,
    "host-key": ciphers.host_key,
    "lockout": accounts.lockout,
    "more-alarms": monitoring.more_alarms,
    "narrow-services": sources.narrow_services,
    "narrow-sources": sources.narrow_sources,
    "new-administrator": accounts.new_administrator,
    "new-collector": monitoring.new_collector,
    "new-receiver": monitoring.new_receiver,
    "new-recipient": monitoring.new_recipient,
    "no-cleartext-snmp": monitoring.no_cleartext_snmp,
    "notify-by-v3": monitoring.notify_by_v3,
    "open-https": ciphers.open_https,
    "open-ssh": ciphers.open_ssh,
    "own-passwords": accounts.own_passwords,
    "read-only-user": monitoring.read_only_user,
    "registered-ports": sources.registered_ports,
    "second-way": monitoring.second_way,
    "security-events": monitoring.security_events,
    "ssh-algorithms": ciphers.ssh_algorithms,
    "time-servers": monitoring.time_servers,
    "tls-suites": ciphers.tls_suites,
    "viewer-account": accounts.viewer_account,
}
