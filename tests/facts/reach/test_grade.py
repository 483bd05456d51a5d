"""How good a proof is, by what is known of a secret: each grade by its weakest sign."""

from datetime import UTC, datetime
from typing import Any, Final

import pytest

from auditor.facts.fact import Context
from auditor.facts.reach.grade import both_of, password_grade, wifi_grade
from auditor.facts.reach.way import BY_DIRECTORY, NO_PROOF, Grade, Proof

CONTEXT: Final = Context(datetime(2026, 11, 25, tzinfo=UTC), words=frozenset({"private"}))
RECORD: Final = {
    "card": {"id": "pump-7", "site": "Harbour", "serial_number": "8000000001"},
    "network": {"hostname": "pump-7.example.org"},
}
SOUND: Final = {"password_is_factory": False, "second_factor": False}


def _clear(text: str) -> dict[str, str]:
    return {"clear": text}


@pytest.mark.parametrize(
    ("account", "proof"),
    [
        ({"password": {"empty": True}, **SOUND}, Proof.NONE),
        ({"password": _clear("private"), **SOUND}, Proof.WELL_KNOWN),
        ({"password": _clear("Kq2Lf7Zr"), **SOUND, "password_is_factory": True}, Proof.FACTORY),
        ({"password": _clear("private"), **SOUND, "password_is_factory": True}, Proof.WELL_KNOWN),
        ({"password": _clear("Kq2Lf7Z"), **SOUND}, Proof.WEAK),
        ({"password": _clear("harbourpump7"), **SOUND}, Proof.WEAK),
        ({"password": _clear("Kq2Lf7Zr"), **SOUND}, Proof.ADEQUATE),
        ({"password": _clear("Kq2Lf7ZrWm5Tn8"), **SOUND}, Proof.ADEQUATE),
        ({"password": _clear("Kq2Lf7ZrWm5Tn8x"), **SOUND}, Proof.STRONG),
        ({"password": _clear("private"), "second_factor": True}, Proof.STRONG),
        ({"second_factor": True}, Proof.STRONG),
        ({**SOUND}, Proof.UNKNOWN),
        ({"password": _clear("Kq2Lf7Zr"), "second_factor": False}, Proof.UNKNOWN),
    ],
)
def test_a_login_is_as_good_as_its_weakest_sign(account: dict[str, Any], proof: Proof) -> None:
    """8 and 15 characters: NIST SP 800-63B revisions 3 and 4; a second factor makes up for all else."""
    assert password_grade({"name": "keeper", **account}, RECORD, CONTEXT).proof is proof


def test_what_is_not_known_leaves_a_span() -> None:
    """Eight characters that may be the delivered ones: from factory to adequate; so too a second factor."""
    account = {"name": "keeper", "password": _clear("Kq2Lf7Zr"), "second_factor": False}
    assert password_grade(account, RECORD, CONTEXT) == Grade(Proof.FACTORY, Proof.ADEQUATE)
    del account["second_factor"]
    account["password_is_factory"] = False
    assert password_grade(account, RECORD, CONTEXT) == Grade(Proof.ADEQUATE, Proof.STRONG)


@pytest.mark.parametrize(
    ("security", "grade"),
    [
        ("open", NO_PROOF),
        ("wep", Grade(Proof.WEAK, Proof.WEAK)),
        ("wpa_personal", Grade(Proof.WEAK, Proof.WEAK)),
        ("wpa2_personal", Grade(Proof.STRONG, Proof.STRONG)),
        ("wpa3_personal", Grade(Proof.STRONG, Proof.STRONG)),
        ("wpa3_enterprise", BY_DIRECTORY),
    ],
)
def test_joining_a_network_takes_its_passphrase_unless_its_kind_is_broken(
    security: str, grade: Grade
) -> None:
    """WEP and the first WPA are deprecated (IEEE 802.11-2020, from memory)."""
    wifi = {"security": security, "passphrase": _clear("Kq2Lf7ZrWm5Tn8x")}
    assert wifi_grade(wifi, RECORD, CONTEXT) == grade


def test_of_two_proofs_the_harder_counts_and_a_directory_speaks_for_both() -> None:
    """Both are asked for."""
    weak, strong = Grade(Proof.WEAK, Proof.WEAK), Grade(Proof.STRONG, Proof.STRONG)
    assert both_of(weak, strong) == strong
    assert both_of(BY_DIRECTORY, weak) == BY_DIRECTORY
