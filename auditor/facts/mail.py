"""Facts on alarm mail: where its recipients are."""

from auditor.facts.fact import Context, Settings, fact


@fact(reads=("/address",), about="/mail/recipients", source="RFC 5321 section 2.3.11 (from memory)")
def mail_recipient_domain(member: Settings, _record: Settings, _context: Context) -> str | None:
    """Domain of a recipient's address, in lower case."""
    address = member.get("address")
    return None if address is None else address.rpartition("@")[2].lower().rstrip(".")
