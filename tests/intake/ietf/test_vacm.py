"""Who may do what, by the groups and rows of ietf-snmp; the row is chosen as RFC 3415 has it."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any, Final, TypeAlias

import pytest

from auditor.intake.ietf.vacm import MOST_ROWS
from tests.intake.ietf.told import imported, whys

Rows: TypeAlias = list[dict[str, object]]
BARE: Final[Mapping[str, object]] = MappingProxyType({})


def row(
    model: str = "any", level: str = "no-auth-no-priv", context: str = "", **views: str
) -> dict[str, object]:
    """Return an access row; views are read, write, match."""
    match = {"context-match": views.pop("match")} if "match" in views else {}
    named = {f"{kind}-view": view for kind, view in views.items()}
    return {"context": context, "security-model": model, "security-level": level, **match, **named}


def rights(
    rows: Rows,
    *,
    context: str = "",
    models: tuple[str, ...] = ("v1", "v2c", "usm"),
    user: Mapping[str, object] = BARE,
) -> Any:
    """Return what a community and a user of one group with such rows are imported with."""
    group = {
        "name": "g",
        "member": [{"security-name": "s", "security-model": list(models)}],
        "access": rows,
    }
    entry = {"index": "c", "security-name": "s", "context": context}
    local = {"user": [{"name": "s", **user}]}
    told = imported(
        {"ietf-snmp:snmp": {"community": [entry], "usm": {"local": local}, "vacm": {"group": [group]}}}
    ).settings["snmp"]
    wanted = ("access", "view", "level")
    return [
        {key: one[key] for key in wanted if key in one} for one in (told["communities"][0], told["users"][0])
    ]


KEYS = {"auth": {"sha": {"key": ":".join(["5a"] * 20)}}, "priv": {"aes": {"key": ":".join(["5a"] * 16)}}}
NONE = {"access": "none"}


@pytest.mark.parametrize(
    ("rows", "community", "user"),
    [
        ([], NONE, NONE),
        ([row(notify="n")], NONE, NONE),
        ([row(read="r")], {"access": "read", "view": "r"}, {"access": "read", "view": "r"}),
        ([row(read="r", write="w")], {"access": "write", "view": "w"}, {"access": "write", "view": "w"}),
        ([row("usm", write="w")], NONE, {"access": "write", "view": "w"}),
        ([row("v1", read="r"), row("v2c", read="q")], {"access": "read"}, NONE),
        # The row of the very model wins over the one for any, whatever they grant.
        (
            [row(write="w"), row("v1", read="r"), row("v2c", read="r"), row("usm")],
            {"access": "read", "view": "r"},
            NONE,
        ),
        # No community reaches a level above the lowest.
        ([row(level="auth-no-priv", write="w")], NONE, {"access": "write", "view": "w"}),
        ([row(level="auth-priv", write="w")], NONE, {"access": "write", "view": "w"}),
        # A community is bound to its context; a user names any.
        ([row(context="other", read="r")], NONE, {"access": "read", "view": "r"}),
    ],
)
def test_the_deciding_row_grants(rows: Rows, community: dict[str, str], user: dict[str, str]) -> None:
    """Write if some request is decided by a row that names a view for it, else read, else nothing."""
    found = rights(rows, user=KEYS)
    found[1].pop("level", None)
    found[0].pop("level", None)
    assert found == [community, user]


@pytest.mark.parametrize(
    ("keys", "rows", "level"),
    [
        (2, [row(level="auth-priv", read="r")], "authPriv"),
        (2, [row(level="auth-no-priv", read="r")], "authNoPriv"),
        (2, [row(read="r"), row(level="auth-priv", write="w")], "noAuthNoPriv"),
        (2, [row(notify="n"), row(level="auth-no-priv", read="r")], "authNoPriv"),
        (1, [row(level="auth-priv", read="r")], None),
        (0, [row(level="auth-no-priv", read="r")], None),
        (0, [row(read="r")], "noAuthNoPriv"),
    ],
)
def test_the_level_is_the_lowest_that_opens_anything(keys: int, rows: Rows, level: str | None) -> None:
    """A user with keys may ask without them; only the rows decide what that opens."""
    user = dict(list(KEYS.items())[:keys])
    assert rights(rows, user=user)[1].get("level") == level


@pytest.mark.parametrize(
    ("context", "match", "access"),
    [
        ("site-a", "exact", "none"),
        ("site-a", "prefix", "read"),
        ("a-site", "prefix", "none"),
        ("site", "exact", "read"),
    ],
)
def test_a_context_is_compared_as_the_row_says(context: str, match: str, access: str) -> None:
    """A prefix opens what begins with it, an exact match only itself."""
    assert rights([row(context="site", match=match, read="r")], context=context)[0]["access"] == access


def test_a_longer_prefix_wins() -> None:
    """RFC 3415: of several prefixes that fit, the longest decides."""
    rows = [row(context="si", match="prefix", write="w"), row(context="site", match="prefix", read="r")]
    assert rights(rows, context="site-a")[0] == {"access": "read", "view": "r"}


def test_a_stranger_to_all_groups_may_do_nothing() -> None:
    """Where groups are told, a name in none of them has no rights."""
    assert rights([row(write="w")], models=("usm",))[0] == NONE


def test_without_groups_nothing_is_known() -> None:
    """Rights can't be told from communities alone; a user without keys reaches the lowest level only."""
    told = imported(
        {
            "ietf-snmp:snmp": {
                "community": [{"index": "c", "security-name": "s"}],
                "usm": {"local": {"user": [{"name": "a"}, {"name": "b", **KEYS}]}},
            }
        }
    ).settings["snmp"]
    assert "access" not in told["communities"][0]
    assert [user.get("level") for user in told["users"]] == ["noAuthNoPriv", None]
    assert all("access" not in user for user in told["users"])


def test_a_group_with_too_many_rows_is_not_weighed() -> None:
    """The cost stays bounded; rights are then unknown, and the rows are taken all the same."""
    rows = [row(context=str(number), read="r") for number in range(MOST_ROWS + 1)]
    assert rights(rows) == [{}, {"level": "noAuthNoPriv"}]


def test_models_by_number_and_names_in_views_are_lost() -> None:
    """A record has words for four models; of an object identifier, only numbers are read."""
    group = {"name": "g", "member": [{"security-name": "s", "security-model": [77, "usm"]}]}
    view = {"name": "v", "include": ["iso.org.dod", "1.3.6.1"]}
    found = imported({"ietf-snmp:snmp": {"vacm": {"group": [group], "view": [view]}}})
    assert found.settings["snmp"]["vacm"] == {
        "groups": [{"group": "g", "security_model": "usm", "security_name": "s"}],
        "views": [{"name": "v", "subtree": "1.3.6.1", "type": "included"}],
    }
    assert whys(found) == [
        "expected one of v1, v2c, usm, tsm",
        "an object identifier with names in it; only numbers are read",
    ]
