"""Facts on alarm mail: where its recipients are, and the password by which the card logs in."""

from auditor.facts.fact import Context, Settings, fact
from auditor.facts.secret_class import is_guessable, length_of


@fact(reads=("/address",), about="/mail/recipients", source="RFC 5321 section 2.3.11 (from memory)")
def mail_recipient_domain(member: Settings, _record: Settings, _context: Context) -> str | None:
    """Domain of a recipient's address, in lower case."""
    address = member.get("address")
    return None if address is None else address.rpartition("@")[2].lower().rstrip(".")


@fact(reads=["/mail/password"], source="NIST SP 800-63B (revision 3) section 5.1.1.2")
def mail_password_is_guessable(record: Settings, context: Context) -> bool | None:
    """Say whether the password of the mail account is empty or a well-known word."""
    return is_guessable(record.get("mail", {}).get("password"), context)


@fact(reads=["/mail/password"], unit="characters", source="NIST SP 800-63B revision 4, by analogy")
def mail_password_length(record: Settings, _context: Context) -> int | None:
    """Count the characters of the password of the mail account."""
    return length_of(record.get("mail", {}).get("password"))
