"""Facts on the rules for logging in."""

from auditor.facts.fact import Context, Settings, fact

_SECONDS_A_DAY = 86_400


@fact(
    reads=["/access_policy/lockout/duration_s", "/access_policy/lockout/attempts"],
    unit="guesses",
    source="arithmetic; NIST SP 800-63B section 5.2.2 asks for a limit",
)
def guesses_per_day(record: Settings, _context: Context) -> float | None:
    """Count the passwords that can be tried on one account in a day, as the lock-out allows.

    Attempts times the number of locks that fit into a day; the guesses themselves take no
    time. A lock that only an administrator ends (duration 0) allows its attempts once.
    """
    lockout = record.get("access_policy", {}).get("lockout", {})
    attempts, duration = lockout.get("attempts"), lockout.get("duration_s")
    if attempts is None or duration is None:
        return None
    return float(attempts * _SECONDS_A_DAY / duration) if duration else float(attempts)
