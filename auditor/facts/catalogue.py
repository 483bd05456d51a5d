"""Every fact there is, by name. A new topic file is named here, and nowhere else."""

from collections.abc import Mapping
from types import MappingProxyType

from auditor.facts import (
    access,
    accounts,
    alarms,
    capture,
    clock,
    directory,
    evidence,
    log,
    mail,
    maintenance,
    network,
    probe,
    services,
    shutdown,
    snmp,
    ssh,
    tls,
    vacm,
)
from auditor.facts.fact import Fact
from auditor.facts.reach import exposure

_TOPICS = (
    access, accounts, alarms, capture, clock, directory, evidence, exposure, log, mail, maintenance, network,
    probe, services, shutdown, snmp, ssh, tls, vacm,
)  # fmt: skip

FACTS: Mapping[str, Fact] = MappingProxyType(
    {value.name: value for topic in _TOPICS for value in vars(topic).values() if isinstance(value, Fact)}
)
