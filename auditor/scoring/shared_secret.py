"""Secrets and keys that several cards share: what one of them opens, and how bad that is.

Says nothing of how they are found: that is a matter of the whole estate.
"""

from collections.abc import Mapping
from typing import Final

from auditor.dataclass import dataclass
from auditor.scoring.band import Band, band_of
from auditor.scoring.ccss import Scored, environmental_score
from auditor.scoring.environment import environment_of

SHOWN_CARDS: Final = 20
"""So many card ids of a group are kept; our own figure."""

WEIGHTY: Final = ("life_safety", "critical")
"""Loads that are named one by one: their loss harms people, or is a significant one."""


@dataclass(frozen=True, slots=True)
class SharedKind:
    """What is shared, what one of it opens, and the severity of sharing it, with the argument for it."""

    title: str
    opens: str
    vector: str
    because: str


_BOTH: Final = "AV:N/AC:H/Au:N/C:P/I:P/A:P"
_SPEAK: Final = "AV:N/AC:H/Au:N/C:P/I:P/A:N"
_LISTEN: Final = "AV:N/AC:H/Au:N/C:P/I:N/A:N"

SHARED_KINDS: Final[Mapping[str, SharedKind]] = {
    "password": SharedKind(
        "Password of an account or console", "a login to each card",
        _BOTH, "Recovered on the weakest card, it opens all the others.",
    ),
    "community": SharedKind(
        "SNMP community", "reading of each card, and writing where the row allows it",
        _LISTEN, "Sent in clear by each card: heard once, it reads them all.",
    ),
    "snmp_passphrase": SharedKind(
        "SNMPv3 passphrase or key", "requests to each card as that user",
        _SPEAK, "Recovered on one card, it speaks to all the others.",
    ),
    "radius_secret": SharedKind(
        "RADIUS shared secret", "forged answers of the server to each card",
        _BOTH, "Recovered on one card, it lets a stranger answer the logins of all the others.",
    ),
    "agent_secret": SharedKind(
        "Secret of a shutdown agent", "shutdown commands to each machine behind these cards",
        "AV:N/AC:H/Au:N/C:N/I:P/A:P", "Recovered on one card, it stops the machines behind all the others.",
    ),
    "ldap_password": SharedKind(
        "Password of the LDAP bind", "the directory, as far as the bind may read",
        _LISTEN, "One bind for many cards is usual; it opens the directory, not the cards.",
    ),
    "mail_password": SharedKind(
        "Password for mail", "the mail account that these cards send by",
        _LISTEN, "One mail account for many cards is usual; it opens the account, not the cards.",
    ),
    "mqtt_password": SharedKind(
        "Password for the MQTT broker", "the broker, in the name of each card",
        _SPEAK, "Recovered on one card, it speaks in the name of all the others.",
    ),
    "wifi_passphrase": SharedKind(
        "Wi-Fi passphrase", "the wireless network that these cards are in",
        "AV:A/AC:H/Au:N/C:P/I:N/A:N", "A network has one by design; it opens the way to the cards.",
    ),
    "certificate": SharedKind(
        "TLS certificate", "the identity of each card towards browsers and programs",
        _SPEAK, "One private key on many cards: taken from one, it plays and reads all the others.",
    ),
    "certificate_key": SharedKind(
        "Key of the TLS certificate", "the identity of each card towards browsers and programs",
        _SPEAK, "One private key under several certificates: taken from one card, it plays all the others.",
    ),
    "ssh_host_key": SharedKind(
        "SSH host key", "the identity of each card towards SSH clients",
        _SPEAK, "One private key on many cards: taken from one, it plays all the others.",
    ),
}  # fmt: skip
"""Severities are base vectors argued as those of rules are; the arguments are our own, no source."""


@dataclass(frozen=True, slots=True)
class SharedSecret:
    """Cards that share one secret or key: a finding on the estate.

    ``form`` is how it was seen to be the same: ``clear``, ``tag``, ``crypt``, ``localized``,
    ``passphrase`` (a well-known one, behind localized keys) or ``fingerprint``. ``card_ids`` are
    the first ``SHOWN_CARDS`` in the order of the input, and ``weighty_ids`` the first of those
    that feed a load in ``WEIGHTY``. ``feeds`` counts the cards by what they feed, empty text
    where that is not known. ``severity`` is that at the worst load.
    """

    kind: str
    form: str
    cards: int
    feeds: Mapping[str, int]
    card_ids: tuple[str, ...]
    weighty_ids: tuple[str, ...]
    severity: Scored

    @property
    def band(self) -> Band:
        """Return the word of the severity."""
        return band_of(self.severity.score)

    @property
    def what(self) -> SharedKind:
        """Return what is shared, in words."""
        return SHARED_KINDS[self.kind]

    @property
    def weighty(self) -> int:
        """Return how many of the cards feed a load in ``WEIGHTY``."""
        return sum(self.feeds.get(load, 0) for load in WEIGHTY)


def severity_of(kind: str, loads: Mapping[str, int], environments: Mapping[str, Mapping[str, str]]) -> Scored:
    """Return the severity of sharing a kind of secret, at the worst of the loads behind the cards.

    ``loads`` counts cards by what they feed, empty text where that is not known; there must be
    one. ``environments`` are those that a site tailored.
    """
    vector = SHARED_KINDS[kind].vector
    metrics = (environment_of(feeds or None, environments).metrics for feeds in loads)
    return max((environmental_score(vector, each) for each in metrics), key=lambda scored: scored.score)
