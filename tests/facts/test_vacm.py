"""View-based access control: the examples of the standards, a reference, and less knowledge."""

import copy
from datetime import UTC, datetime
from itertools import product
from typing import Any, Final

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from auditor.facts import vacm
from auditor.facts.fact import Context, Settings
from auditor.facts.ups_mib import CONTROL
from auditor.facts.vacm import Doing, Request, community_may, community_may_switch_outputs, may, user_may
from tests.facts.less_known import thinned

CONTEXT = Context(datetime(2026, 11, 25, 12, tzinfo=UTC))
SYSTEM: Final = frozenset({(1, 3, 6, 1, 2, 1, 1)})
LEVELS: Final = ("noAuthNoPriv", "authNoPriv", "authPriv")


def member(group: str, model: str, name: str) -> Settings:
    """Return a row of the groups."""
    return {"group": group, "security_model": model, "security_name": name}


def access(group: str, model: str, level: str, **views: str) -> Settings:
    """Return an access row of the default context; a view that is not named is empty."""
    row = {"group": group, "context": "", "security_model": model, "level": level, "match": "exact"}
    return {**row, "read_view": "", "write_view": "", "notify_view": "", **views}


def view(name: str, subtree: str, kind: str = "included") -> Settings:
    """Return a row of a view, without a mask."""
    return {"name": name, "subtree": subtree, "mask": "", "type": kind}


def minimum_secure(second: str) -> Settings:
    """Return the minimum-secure configuration; ``second`` is the view of authenticated requests."""
    return {
        "groups": [member("initial", "usm", "initial")],
        "access": [
            access("initial", "usm", "noAuthNoPriv", read_view="restricted", notify_view="restricted"),
            access("initial", "usm", "authNoPriv", read_view=second, write_view=second, notify_view=second),
        ],
        "views": [view("internet", "1.3.6.1"), view("restricted", "1.3.6.1")],
    }


# Source: RFC 3415 appendix A.1; RFC 7407 appendix A.6 names "internet" but defines "initial".
@pytest.mark.parametrize(
    ("level", "doing", "defined", "dangling"),
    [
        (1, Doing.READ, True, True),
        (1, Doing.WRITE, False, False),
        (1, Doing.NOTIFY, True, True),
        (2, Doing.READ, True, False),
        (2, Doing.WRITE, True, False),
        (3, Doing.NOTIFY, True, False),
    ],
)
def test_the_minimum_secure_configuration_reads_without_proof(
    level: int, doing: Doing, defined: bool, dangling: bool
) -> None:
    """As RFC 3415 has it everything opens with proof; as RFC 7407 has it nothing does."""
    request = Request("usm", "initial", level)
    assert may(minimum_secure("internet"), request, doing, CONTROL) is defined
    assert may(minimum_secure("none such"), request, doing, CONTROL) is dangling


def test_the_semi_secure_configuration_hides_the_control_group() -> None:
    """RFC 3415 appendix A.1: without proof, only the system group and some statistics are read."""
    tables = minimum_secure("internet")
    subtrees = ("1.3.6.1.2.1.1", "1.3.6.1.2.1.11", "1.3.6.1.6.3.10.2.1", "1.3.6.1.6.3.11.2.1")
    tables["views"] = [view("restricted", item) for item in subtrees] + [view("internet", "1.3.6.1")]
    request = Request("usm", "initial", 1)
    assert may(tables, request, Doing.READ, SYSTEM) is True
    assert may(tables, request, Doing.READ, CONTROL) is False


@pytest.mark.parametrize(
    "request_",
    [Request("usm", "stranger", 3), Request("v2c", "initial", 1), Request("usm", "initial", 1, "other")],
)
def test_nobody_without_a_group_or_an_access_row_is_let_in(request_: Request) -> None:
    """There is noGroupName for a strange name or model; noAccessEntry for another context."""
    assert may(minimum_secure("internet"), request_, Doing.READ, SYSTEM) is False


def test_the_choice_of_the_access_row_goes_by_model_then_context_then_level() -> None:
    """By hand after RFC 3415 section 4: an exact model beats a longer prefix, that beats a higher level."""
    row = access("g", "any", "authPriv", write_view="all")
    exact_model = access("g", "usm", "noAuthNoPriv") | {"match": "prefix"}
    longer = access("g", "any", "noAuthNoPriv") | {"context": "ups", "match": "prefix"}
    tables = {"groups": [member("g", "usm", "u")], "views": [view("all", "1")]}
    request = Request("usm", "u", 3, "ups1")
    prefix = row | {"match": "prefix"}
    assert may({**tables, "access": [prefix]}, request, Doing.WRITE, CONTROL) is True
    assert may({**tables, "access": [prefix, longer]}, request, Doing.WRITE, CONTROL) is False
    assert may({**tables, "access": [prefix, exact_model]}, request, Doing.WRITE, CONTROL) is False
    assert may({**tables, "access": [row, longer]}, request, Doing.WRITE, CONTROL) is False


def card(**snmp: Any) -> Settings:
    """Return a card that answers all versions and takes output commands."""
    section = {"enabled": True, "versions": ["v1", "v2c", "v3"], **snmp}
    return {"snmp": section, "shutdown": {"remote_output_commands": {"enabled": True}}}


USER: Final = {
    "name": "u", "enabled": True, "level": "authPriv", "auth_protocol": "sha256", "priv_protocol": "aes128",
}  # fmt: skip
TABLES: Final = {
    "groups": [member("g", "usm", "u"), member("g", "v2c", "c")],
    "access": [access("g", "any", "noAuthNoPriv", read_view="all", write_view="all")],
    "views": [view("all", "1.3.6.1")],
}
NARROW: Final = {
    **TABLES,
    "views": [view("all", "1.3.6.1"), view("all", "1.3.6.1.2.1.33.1.8", "excluded")],
}
NO_TABLES: Final[Settings] = {"groups": [], "access": [], "views": []}


@pytest.mark.parametrize(
    ("own", "tables", "switches"),
    [
        ({"access": "write", "view": ""}, None, True),
        ({"access": "write", "view": ""}, NO_TABLES, True),
        ({"access": "write"}, None, None),
        ({"access": "write"}, NO_TABLES, None),
        ({"access": "write", "view": "all"}, None, None),
        ({"access": "write", "view": "all"}, {"views": [view("all", "1.3")]}, True),
        ({"access": "write", "view": "all"}, {"views": [view("all", "1.3.6.1.2.1.1")]}, False),
        ({"access": "read"}, None, False),
        ({"access": "none"}, NO_TABLES, False),
        ({}, TABLES, True),
        ({}, NARROW, False),
        ({}, NO_TABLES, None),
        ({}, {**TABLES, "groups": []}, False),
        ({}, {**TABLES, "access": []}, False),
        ({"access": "write", "view": "all"}, TABLES, True),
        ({"access": "read"}, TABLES, None),
        ({"access": "write", "view": ""}, NARROW, None),
        ({"access": "write", "view": "", "enabled": False}, None, False),
    ],
)
def test_rows_and_tables_both_tell_and_a_contradiction_tells_nothing(
    own: Settings, tables: Settings | None, switches: bool | None
) -> None:
    """Either is believed alone; empty tables leave the word to the row."""
    section = {} if tables is None else {"vacm": tables}
    user = {**USER, **own}
    assert vacm.user_may_switch_outputs(user, card(users=[user], **section), CONTEXT) is switches
    row = {"enabled": True, "security_name": "c", **own}
    assert community_may_switch_outputs(row, card(communities=[row], **section)) is switches


@pytest.mark.parametrize(
    ("section", "switches"),
    [
        ({"enabled": False}, (False, False)),
        ({"versions": ["v3"]}, (True, False)),
        ({"versions": ["v1"]}, (False, False)),
        ({"versions": ["v2c"]}, (False, True)),
        ({"versions": []}, (False, False)),
    ],
)
def test_only_what_is_answered_may_switch(section: Settings, switches: tuple[bool, bool]) -> None:
    """By hand: the community is in its group for v2c only, the user for v3."""
    row = {"enabled": True, "security_name": "c"}
    record = card(vacm=TABLES, **section)
    found = vacm.user_may_switch_outputs(USER, record, CONTEXT), community_may_switch_outputs(row, record)
    assert found == switches


def test_outputs_that_take_no_commands_are_switched_by_nobody() -> None:
    """The card's own bar counts; where it was not captured, nothing is sure."""
    record = card(vacm=TABLES)
    record["shutdown"] = {"remote_output_commands": {"enabled": False}}
    assert vacm.user_may_switch_outputs(USER, record, CONTEXT) is False
    record["shutdown"] = {}
    assert vacm.user_may_switch_outputs(USER, record, CONTEXT) is None
    assert user_may(USER, record, doing=Doing.WRITE, subtrees=CONTROL) is True


@pytest.mark.parametrize(
    ("changed", "writes"),
    [
        ({}, True),
        ({"level": "noAuthNoPriv"}, True),
        ({"priv_protocol": "none"}, False),
        ({"level": "authNoPriv", "priv_protocol": "none"}, False),
        ({"auth_protocol": "none", "priv_protocol": "none"}, False),
        ({"level": ...}, True),
        ({"level": ..., "priv_protocol": ...}, None),
        ({"priv_protocol": ...}, None),
        ({"auth_protocol": ..., "priv_protocol": "none"}, False),
        ({"name": ...}, None),
    ],
)
def test_a_user_reaches_what_some_level_of_it_reaches(changed: Settings, writes: bool | None) -> None:
    """By hand: here the write view stands at authPriv only."""
    rows = [access("g", "usm", "noAuthNoPriv"), access("g", "usm", "authPriv", write_view="all")]
    user = {name: value for name, value in {**USER, **changed}.items() if value is not ...}
    record = card(vacm={**TABLES, "access": rows})
    assert user_may(user, record, doing=Doing.WRITE, subtrees=CONTROL) is writes


def test_a_user_reaches_what_some_named_context_reaches() -> None:
    """A user chooses the context of its requests; a community has the default one here."""
    other = {**TABLES, "access": [{**TABLES["access"][0], "context": "unit-2"}]}
    asked: dict[str, Any] = {"doing": Doing.WRITE, "subtrees": CONTROL}
    assert user_may(USER, card(vacm=other), **asked) is True
    assert community_may({"enabled": True, "security_name": "c"}, card(vacm=other), **asked) is False


@pytest.mark.parametrize(
    ("row", "open_"),
    [
        (access("g", "usm", "noAuthNoPriv", write_view="all"), True),
        (access("g", "any", "noAuthNoPriv", write_view="all"), True),
        (access("g", "v2c", "noAuthNoPriv", write_view="all"), False),
        (access("g", "usm", "authNoPriv", write_view="all"), False),
        (access("g", "usm", "noAuthNoPriv", read_view="all"), False),
        (access("g", "usm", "noAuthNoPriv", write_view="system"), False),
        (access("g", "usm", "noAuthNoPriv", write_view="none such"), False),
        ({"level": "noAuthNoPriv", "write_view": "all"}, None),
        ({"security_model": "usm", "level": "noAuthNoPriv"}, None),
        ({"security_model": "usm", "write_view": ""}, False),
        ({}, None),
    ],
)
def test_an_access_row_without_proof_is_open_where_it_writes_the_control_group(
    row: Settings, open_: bool | None
) -> None:
    """At noAuthNoPriv the security name is anybody's word (RFC 3415 section 3.2)."""
    views = [view("all", "1.3.6.1"), view("system", "1.3.6.1.2.1.1")]
    assert vacm.access_row_switches_without_proof(row, card(vacm={"views": views}), CONTEXT) is open_


@pytest.mark.parametrize(
    ("section", "undefined"),
    [
        ({"vacm": TABLES, "users": [], "communities": []}, ()),
        ({"vacm": minimum_secure("x"), "users": [], "communities": []}, ("x",)),
        ({"vacm": TABLES, "users": [{"enabled": True, "view": "y"}]}, ("y",)),
        ({"vacm": TABLES, "users": [{"enabled": False, "view": "y"}], "communities": []}, ()),
        ({"vacm": TABLES, "users": [{"view": "y"}], "communities": []}, None),
        ({"vacm": TABLES, "users": [{"view": "all"}], "communities": []}, ()),
        ({"vacm": TABLES, "users": [{"enabled": True}], "communities": []}, None),
        ({"vacm": TABLES, "users": []}, None),
        ({"vacm": NO_TABLES, "users": [], "communities": [{"enabled": True, "view": ""}]}, ()),
        ({"vacm": {"access": []}, "users": [], "communities": []}, ()),
        ({"vacm": {**TABLES, "views": [{"subtree": "1"}]}, "users": [], "communities": []}, None),
        ({}, None),
    ],
)
def test_views_that_are_named_but_not_defined_are_listed(
    section: Settings, undefined: tuple[str, ...] | None
) -> None:
    """One that is sure is enough to answer; none is said only where all is known."""
    assert vacm.undefined_views(card(**section), CONTEXT) == undefined


# The reference: RFC 3415 word by word, over complete tables.
def reference_may(tables: Settings, request: Request, doing: Doing) -> bool:
    """Decide in the steps of section 3.2, with the order of rows of section 4."""
    groups = [
        row["group"]
        for row in tables["groups"]
        if (row["security_model"], row["security_name"]) == request[:2]
    ]
    if not groups:
        return False
    fitting = []
    for row in tables["access"]:
        own, context = row["context"], request.context
        same_context = own == context or (row["match"] == "prefix" and context.startswith(own))
        same_model = row["security_model"] in ("any", request.security_model)
        level = LEVELS.index(row["level"]) + 1
        if row["group"] == groups[0] and same_context and same_model and level <= request.level:
            fitting.append((row["security_model"] != "any", own == context, len(own), level, row[doing]))
    name = max(fitting)[-1] if fitting else ""
    return any(row["name"] == name for row in tables["views"])


_KEYS = st.tuples(
    st.sampled_from("gh"), st.sampled_from(["", "u", "up"]), st.sampled_from(["any", "usm", "v1"]),
    st.sampled_from(LEVELS),
)  # fmt: skip
_NAMES = st.sampled_from(["", "all", "none such"])


@st.composite
def tables_of(draw: st.DrawFn) -> Settings:
    """Return complete tables in which each row has its own index, as the standard has it."""
    members = draw(st.lists(st.sampled_from([*product(["usm", "v1"], "ab")]), max_size=4, unique=True))
    keys = draw(st.lists(_KEYS, max_size=6, unique=True))
    return {
        "groups": [member(draw(st.sampled_from("gh")), model, name) for model, name in members],
        "access": [
            {
                **access(group, model, level, read_view=draw(_NAMES), write_view=draw(_NAMES)),
                "context": context,
                "match": draw(st.sampled_from(["exact", "prefix"])),
            }
            for group, context, model, level in keys
        ],
        "views": [view("all", "1.3.6.1")],
    }


REQUESTS = st.builds(
    Request,
    st.sampled_from(["usm", "v1", "v2c"]),
    st.sampled_from("ab"),
    st.integers(1, 3),
    st.sampled_from(["", "u", "up", "ups"]),
)


@given(tables_of(), REQUESTS, st.sampled_from([Doing.READ, Doing.WRITE]))
@settings(max_examples=300)
def test_access_is_decided_as_the_standard_words_it(tables: Settings, request: Request, doing: Doing) -> None:
    """Against a reference that is written after the words of the standard."""
    assert may(tables, request, doing, CONTROL) is reference_may(tables, request, doing)


@given(tables_of(), REQUESTS, st.data())
@settings(max_examples=300)
def test_less_knowledge_never_misleads_about_access(
    tables: Settings, request: Request, data: st.DataObject
) -> None:
    """Whatever is left out of the tables: what is still decided is decided rightly."""
    less = data.draw(st.composite(lambda draw: thinned(tables, draw))())
    assert may(less, request, Doing.WRITE, CONTROL) in (None, may(tables, request, Doing.WRITE, CONTROL))


@given(tables_of(), st.sampled_from(LEVELS), st.sampled_from(["none", "sha256"]), st.data())
@settings(max_examples=300)
def test_less_knowledge_never_misleads_about_users_and_communities(
    tables: Settings, level: str, auth: str, data: st.DataObject
) -> None:
    """Members left out of any section leave a decision as it was, or open; they never turn it."""
    user = {"name": "a", "enabled": True, "level": level, "auth_protocol": auth, "priv_protocol": "none"}
    row = {"enabled": True, "security_name": "a", "access": "write", "view": "all"}
    whole = card(vacm=tables, users=[{**user, "view": "gone"}], communities=[row])
    less = data.draw(st.composite(lambda draw: thinned(copy.deepcopy(whole), draw))())
    for ask in (_user_switches, _community_switches, _has_undefined):
        assert None in (ask(less), ask(whole)) or ask(less) is ask(whole)


def _user_switches(record: Settings) -> Any:
    users = record.get("snmp", {}).get("users", [{}])
    return vacm.user_may_switch_outputs(users[0], record, CONTEXT)


def _community_switches(record: Settings) -> bool | None:
    rows = record.get("snmp", {}).get("communities", [{}])
    return community_may_switch_outputs(rows[0], record)


def _has_undefined(record: Settings) -> bool | None:
    found = vacm.undefined_views(record, CONTEXT)
    return None if found is None else bool(found)
