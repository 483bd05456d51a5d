"""AccountService, its accounts and roles, and SessionService → accounts and the rules of logging in.

Source: DMTF DSP0268, AccountService to v1_18, ManagerAccount, Role, SessionService; DSP0266 for
what the predefined roles may do.
"""

from collections.abc import Mapping, Sequence

from auditor.intake.redfish_resource import Reader

ROLES: Mapping[str, str] = {"Administrator": "administrator", "Operator": "operator", "ReadOnly": "viewer"}
_FALLBACK = {
    "Enabled": "always",
    "LocalFirst": "always",
    "Fallback": "directory_unreachable",
    "Disabled": "never",
}
_NO_LOGIN = frozenset({"SNMP"})
"""Types of account that open no session (DSP0268, ManagerAccount, AccountTypes)."""


def read_account_service(service: Reader) -> None:
    """Take the rules for passwords and failed logins."""
    base = "/access_policy/password"
    service.copy("/MinPasswordLength", f"{base}/minimum_length")
    service.copy("/EnforcePasswordHistoryCount", f"{base}/history_count")
    if service.has("/PasswordExpirationDays"):
        days = service.value("/PasswordExpirationDays")  # null is never (DSP0268)
        service.put(f"{base}/maximum_age_days", 0 if days is None else days, "/PasswordExpirationDays")
    _read_lockout(service)
    when = service.word("/LocalAccountAuth", _FALLBACK)
    service.put("/directory/local_fallback/when", when, "/LocalAccountAuth")
    if when not in (None, "never"):  # the standard then lets every local account in
        service.put("/directory/local_fallback/accounts", "all", "/LocalAccountAuth")


def _read_lockout(service: Reader) -> None:
    """Take the lock-out.

    A threshold of 0 never locks, nor does a duration of 0; but where the counter is never
    reset by time, the duration does not count and an administrator must act.
    """
    base = "/access_policy/lockout"
    attempts, seconds = service.number("/AccountLockoutThreshold"), service.number("/AccountLockoutDuration")
    forever = service.flag("/AccountLockoutCounterResetEnabled") is False
    if attempts == 0:
        service.put(f"{base}/enabled", value=False, at="/AccountLockoutThreshold")
    elif seconds == 0 and not forever:
        service.put(f"{base}/enabled", value=False, at="/AccountLockoutDuration")
    elif attempts is not None:
        service.put(f"{base}/enabled", value=True, at="/AccountLockoutThreshold")
        service.put(f"{base}/attempts", attempts, "/AccountLockoutThreshold")
        at = "/AccountLockoutCounterResetEnabled" if forever else "/AccountLockoutDuration"
        service.put(f"{base}/duration_s", 0 if forever else seconds, at)


def read_accounts(accounts: Sequence[Reader], roles: Mapping[str, Reader]) -> None:
    """Take the accounts that can log in; an unnamed one is an empty slot."""
    for account in accounts:
        types = {word for _, word in account.texts("/AccountTypes") or ()}
        if account.text("/UserName") == "":
            account.skip("")
            continue
        if types and types <= _NO_LOGIN:
            continue
        base = account.draft.next_item("/accounts")
        if not account.copy("/UserName", f"{base}/name"):
            account.lose("/UserName", "an account without a name that a record can hold was left out")
            continue
        account.copy("/Enabled", f"{base}/enabled")
        _read_role(account, roles, base)
        password = account.text("/Password")
        if password:
            account.draft.put_secret(f"{base}/password", password, account.origin("/Password"))


def _read_role(account: Reader, roles: Mapping[str, Reader], base: str) -> None:
    name = account.text("/RoleId")
    if not name:
        return
    role = role_word(name, roles)
    if role is None:
        account.lose("/RoleId", "the capture does not say what this role may do")
    else:
        account.put(f"{base}/role", role, "/RoleId")


def role_word(name: str, roles: Mapping[str, Reader]) -> str | None:
    """Return what a role is in a record, by its privileges, else by its predefined name.

    Who may configure managers or users can change the card; who may configure components can
    operate what it manages (DSP0266, the privilege model).
    """
    privileges = (
        {word for _, word in roles[name].texts("/AssignedPrivileges") or ()} if name in roles else set()
    )
    if privileges & {"ConfigureManager", "ConfigureUsers"}:
        return "administrator"
    if "ConfigureComponents" in privileges:
        return "operator"
    return "viewer" if "Login" in privileges else ROLES.get(name)


def read_session_service(sessions: Reader) -> None:
    """Take the time after which an idle session ends."""
    sessions.copy("/SessionTimeout", "/access_policy/session_timeout_s")


def read_rest_api(root: Reader, service: Reader | None, protocols: Reader | None) -> None:
    """Take the service itself: its replies are the proof that it answers.

    Where HTTP is on beside HTTPS, it may do no more than send clients on, so what carries the
    service stays unknown.
    """
    base = "/services/rest_api"
    root.put(f"{base}/enabled", value=True, at="/RedfishVersion")
    root.skip("")
    if protocols is not None:
        clear, tls = (protocols.flag(f"/{name}/ProtocolEnabled") for name in ("HTTP", "HTTPS"))
        if clear is not None and tls is not None and clear != tls:
            at = "/HTTP" if clear else "/HTTPS"
            protocols.put(f"{base}/transport", "http" if clear else "https", f"{at}/ProtocolEnabled")
    if service is not None:  # absent is Enabled (DSP0268, AccountService, HTTPBasicAuth)
        basic = service.text("/HTTPBasicAuth") != "Disabled"
        at = "/HTTPBasicAuth" if service.has("/HTTPBasicAuth") else ""
        service.draft.put(f"{base}/authentication", "basic" if basic else "session", service.origin(at))
