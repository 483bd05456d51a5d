"""How good a proof is: from a secret of the record to a grade. Holds no facts, shows no secret.

Each thing that may be known of a secret says between which proofs it lies at best; the grade is
the easiest of them all. So knowing one thing more can only narrow it.
"""

from functools import cache, lru_cache
from typing import Final

from auditor.facts.accounts import password_hash_opens_with_default
from auditor.facts.between import Between
from auditor.facts.fact import Context, Settings
from auditor.facts.localized_key import is_key_of_well_known
from auditor.facts.own_names import own_names
from auditor.facts.reach.way import ANY_PROOF, BY_DIRECTORY, NO_PROOF, RANKS, Grade, Proof, Truth3
from auditor.facts.secret_class import Secret, is_empty, is_well_known, length_of
from auditor.facts.secret_structure import NOTHING, derived_from

SHORT_BELOW: Final = 8
"""A secret with fewer characters is weak. Source: NIST SP 800-63B (revision 3) section 5.1.1.1."""

LONG_FROM: Final = 15
"""A secret of this length stands alone. Source: NIST SP 800-63B revision 4 (single-factor use)."""

STRONG: Final = Grade(Proof.STRONG, Proof.STRONG)
ADEQUATE: Final = Grade(Proof.ADEQUATE, Proof.ADEQUATE)


def secret_grade(secret: Secret, member: Settings, record: Settings, context: Context) -> Grade:
    """Return the grade of a secret that belongs to a member of a list; empty for no member.

    Guesses are not estimated: that costs milliseconds a secret, and rules of their own ask for it.
    """
    if not secret:
        return ANY_PROOF
    listed = _is_listed(secret, member, record, context)
    made_of = derived_from(secret, own_names(record, member), context)
    return easiest_of(
        _at_best(Proof.NONE, is_empty(secret)),
        _at_best(Proof.WELL_KNOWN, listed),
        _at_best(Proof.WEAK, None if made_of is None else made_of != NOTHING),
        _length_grade(length_of(secret)),
    )


def password_grade(account: Settings, record: Settings, context: Context) -> Grade:
    """Return the grade of an account's login: its password, and a second factor beside it."""
    second = account.get("second_factor")
    if second:
        return STRONG
    by_secret = secret_grade(account.get("password"), account, record, context)
    alone = easiest_of(by_secret, _at_best(Proof.FACTORY, account.get("password_is_factory")))
    return alone if second is False else Grade(alone.easiest, Proof.STRONG)


def console_grade(console: Settings, record: Settings, context: Context) -> Grade:
    """Return the grade of the serial console's own password."""
    by_secret = secret_grade(console.get("password"), {}, record, context)
    return easiest_of(by_secret, _at_best(Proof.FACTORY, console.get("password_is_factory")))


def wifi_grade(wifi: Settings, record: Settings, context: Context) -> Grade:
    """Return what it takes to join the card's wireless network.

    WEP and the first WPA are broken. Source: IEEE 802.11-2020 deprecates both; from memory.
    """
    security = wifi.get("security")
    if security is None:
        return ANY_PROOF
    if security == "open":
        return NO_PROOF
    if security.endswith("enterprise"):
        return BY_DIRECTORY
    by_secret = secret_grade(wifi.get("passphrase"), {}, record, context)
    return easiest_of(by_secret, _at_best(Proof.WEAK, security in ("wep", "wpa_personal")))


@lru_cache(maxsize=1024)  # there are few grades, and every secret of a card asks
def easiest_of(*grades: Grade) -> Grade:
    """Return the grade of the easiest of some proofs that can be compared; of none, strong."""
    return Grade(
        min((grade.easiest for grade in grades), key=RANKS.__getitem__, default=Proof.STRONG),
        min((grade.hardest for grade in grades), key=RANKS.__getitem__, default=Proof.STRONG),
    )


def hardest_of(*grades: Grade) -> Grade:
    """Return the grade of several proofs that are all asked for, of those that can be compared."""
    return Grade(
        max((grade.easiest for grade in grades), key=RANKS.__getitem__),
        max((grade.hardest for grade in grades), key=RANKS.__getitem__),
    )


def both_of(one: Grade, other: Grade) -> Grade:
    """Return the grade of two proofs that are both asked for; a directory among them speaks for both."""
    if Proof.DIRECTORY in (*one, *other):
        return BY_DIRECTORY
    return hardest_of(one, other)


@cache
def _at_best(proof: Proof, is_so: Truth3) -> Grade:
    """Return what follows from a weakness: this proof at best if it is there, nothing if not."""
    return Grade(Proof.STRONG if is_so is False else proof, proof if is_so else Proof.STRONG)


def _length_grade(length: int | None) -> Grade:
    if length is None:
        return Grade(Proof.WEAK, Proof.STRONG)
    if not isinstance(length, Between):
        return Grade(*[_proof_of_length(length)] * 2)
    most = Proof.STRONG if length.most is None else _proof_of_length(length.most)
    return Grade(_proof_of_length(int(length)), most)


def _proof_of_length(length: int) -> Proof:
    if length < SHORT_BELOW:
        return Proof.WEAK
    return Proof.ADEQUATE if length < LONG_FROM else Proof.STRONG


def _is_listed(secret: dict[str, object], member: Settings, record: Settings, context: Context) -> Truth3:
    """Return whether a secret is a well-known word, if need be by trying words on its hash or key."""
    if "localized" in secret:
        return is_key_of_well_known(str(secret["localized"]), member, record, context)
    found = is_well_known(secret, context)
    if (
        found is None
        and "crypt" in secret
        and any(member is account for account in record.get("accounts", ()))
    ):
        return True if password_hash_opens_with_default.compute(member, record, context) else None
    return found
