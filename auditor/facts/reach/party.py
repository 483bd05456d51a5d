"""Who may log in: the accounts of a card, its directories, and what each may do. Holds no facts."""

from collections.abc import Iterator
from functools import cache
from typing import Final, NamedTuple

from auditor.facts.fact import Context, Settings
from auditor.facts.reach.grade import password_grade
from auditor.facts.reach.way import ANY_PROOF, BY_DIRECTORY, Grade, Proof, Truth3
from auditor.facts.three_valued import all_of, any_of

_EMPTY: Settings = {}
_RANKS: Final = {"none": -1, "viewer": 0, "operator": 1, "administrator": 2}
_DIRECTORIES: Final = {"ldap": "the LDAP directory", "radius": "the RADIUS servers"}
_OUT_OF_REACH: Final = "while the directory can't be reached"


class Party(NamedTuple):
    """Somebody who may log in, as a way names them.

    ``pointer`` is the account, or the section of the directory. ``is_active`` tells whether
    they can log in at all. ``settings`` say how.
    """

    name: str
    role: str
    pointer: str
    is_active: Truth3
    grade: Grade
    proof_at: str
    settings: tuple[str, ...]
    condition: str = ""


class Allowance(NamedTuple):
    """What a party may do where its role is asked for: read, configure, switch outputs."""

    reads: Truth3
    configures: Truth3
    switches: Truth3


def parties(record: Settings, context: Context, *, who_change: bool = False) -> tuple[Party, ...]:
    """Return all who may log in to the card by a name: local accounts, then directories.

    ``who_change`` leaves out those who surely can neither configure nor switch.
    """
    passive = _passive_roles(record) if who_change else frozenset()
    central = _central_parties(record.get("directory", _EMPTY))
    return (
        *_local_parties(record, context, passive),
        *(party for party in central if party.role not in passive),
    )


def _passive_roles(record: Settings) -> frozenset[str]:
    """Return the roles that surely can neither configure nor switch."""
    commands = record.get("shutdown", _EMPTY).get("remote_output_commands", _EMPTY)
    return _LOWER_ROLES if commands.get("enabled") is False else _roles_below(commands.get("least_role"))


_LOWER_ROLES: Final = frozenset(("viewer", "operator"))


@cache
def _roles_below(least: str | None) -> frozenset[str]:
    """Return the lower roles that surely are not enough where this role is the least."""
    return frozenset(role for role in _LOWER_ROLES if _is_enough(role, least) is False)


def allowance(role: str, record: Settings) -> Allowance:
    """Return what a role allows; empty for a role that was not captured.

    Viewers read, operators switch where the card lets them, administrators configure besides.
    """
    commands = record.get("shutdown", _EMPTY).get("remote_output_commands", _EMPTY)
    enough = _is_enough(role, commands.get("least_role"))
    configures = role == "administrator" if role else None
    return Allowance(reads=True, configures=configures, switches=all_of(commands.get("enabled"), enough))


def _is_enough(role: str, least: str | None) -> Truth3:
    if role == "administrator" or least == "viewer":
        return True
    return None if not role or least is None else _RANKS[role] >= _RANKS[least]


def _local_parties(record: Settings, context: Context, passive: frozenset[str]) -> Iterator[Party]:
    directory = record.get("directory", _EMPTY)
    accounts = record.get("accounts")
    if accounts is None:
        yield Party(
            name="local accounts, not captured",
            role="",
            pointer="/accounts",
            is_active=None,
            grade=ANY_PROOF,
            proof_at="/accounts",
            settings=("/accounts",),
        )
    for place, account in enumerate(accounts or ()):
        if account.get("enabled") is False or account.get("role") in passive:
            continue
        is_let_in, condition = _is_let_in(account, directory)
        is_active = all_of(account.get("enabled"), is_let_in)
        if is_active is not False:
            pointer, grade = f"/accounts/{place}", password_grade(account, record, context)
            yield Party(
                name=f"account {account['name']}",
                role=account.get("role", ""),
                pointer=pointer,
                is_active=is_active,
                grade=grade,
                proof_at=f"{pointer}/password",
                settings=_settings_of(pointer, grade, directory),
                condition=condition,
            )


def _settings_of(pointer: str, grade: Grade, directory: Settings) -> tuple[str, ...]:
    """Return what lets an account log in, and with what; beside a directory also what lets it in there."""
    names = _PROOFS.get(grade.proof, ("password", "second_factor"))
    own = (f"{pointer}/enabled", f"{pointer}/role", *(f"{pointer}/{name}" for name in names))
    if _is_in_use(directory) is False:
        return own
    return (*own, *_FALLBACK, f"{pointer}/purpose")


_PROOFS: Final = {
    Proof.FACTORY: ("password_is_factory", "second_factor"),
    Proof.UNKNOWN: ("password", "password_is_factory", "second_factor"),
}
_FALLBACK: Final = (
    "/directory/ldap/enabled",
    "/directory/radius/enabled",
    "/directory/local_fallback/when",
    "/directory/local_fallback/accounts",
)


def _is_in_use(directory: Settings) -> Truth3:
    """Return whether a directory is in use: then local accounts log in beside it, or not at all."""
    return any_of(directory.get(kind, _EMPTY).get("enabled") for kind in _DIRECTORIES)


def _is_let_in(account: Settings, directory: Settings) -> tuple[Truth3, str]:
    """Return whether a local account can log in beside the directories, and on what condition."""
    in_use = _is_in_use(directory)
    if in_use is False:
        return True, ""
    fallback = directory.get("local_fallback", _EMPTY)
    when = fallback.get("when")
    beside = all_of(
        None if when is None else when != "never", _is_in_scope(account, fallback.get("accounts"))
    )
    if when == "always" and beside:
        return True, ""
    if in_use is None or beside is None:
        return beside if in_use else None, ""
    return beside, _OUT_OF_REACH if when == "directory_unreachable" else ""


def _is_in_scope(account: Settings, scope: str | None) -> Truth3:
    purpose = account.get("purpose")
    is_emergency = None if purpose is None else purpose == "emergency"
    is_for_all = None if scope is None else scope == "all"
    return any_of((is_for_all, is_emergency))


def _central_parties(directory: Settings) -> Iterator[Party]:
    """Yield, of each directory, everybody in it with the default role, and those with their own."""
    for kind in _DIRECTORIES:
        section = directory.get(kind, _EMPTY)
        enabled = section.get("enabled")
        if enabled is not False:
            yield from _parties_in(kind, enabled, section.get("default_role"))


@cache
def _parties_in(kind: str, enabled: Truth3, role: str | None) -> tuple[Party, ...]:
    """Return who may log in by a directory that is on, or may be; of all cards there are few kinds."""
    pointer, title = f"/directory/{kind}", _DIRECTORIES[kind]
    opens = f"{pointer}/enabled", f"{pointer}/default_role"
    everybody = Party(
        name=f"any user of {title}",
        role=role or "",
        pointer=pointer,
        is_active=all_of(enabled, None if role is None else role != "none"),
        grade=BY_DIRECTORY,
        proof_at=pointer,
        settings=opens,
    )
    by_group = everybody._replace(
        name=f"users of {title} by their group", role="", is_active=enabled, settings=opens[:1]
    )
    return (by_group,) if everybody.is_active is False else (everybody, by_group)
