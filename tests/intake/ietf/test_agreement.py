"""XML and JSON of any instance import to the same record; yangson writes the XML."""

import json
from collections.abc import Mapping

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.intake.ietf.told import checked, whys
from tests.intake.yang_model import as_xml, check

# Characters that JSON or XML write in a way of their own are among them.
TEXTS = st.text("ab <>&'\"\\{}[]ü€\N{BULLET}*", min_size=1, max_size=12)
NAMES = st.text("abc-_.:1", min_size=1, max_size=8)
PORTS = st.integers(1, 65535)
HOSTS = st.sampled_from(["192.0.2.1", "2001:db8::1", "a.example.org"])
ADDRESSES = st.sampled_from(["192.0.2.1", "198.51.100.9", "2001:db8::1"])
KEYS = st.integers(16, 20).map(lambda size: ":".join(["5a"] * size))


def entries(key: str, **leaves: st.SearchStrategy[object]) -> st.SearchStrategy[list[dict[str, object]]]:
    """Draw entries of a list with one key."""
    entry = st.fixed_dictionaries({key: NAMES}, optional=dict(leaves))
    return st.lists(entry, min_size=1, max_size=3, unique_by=lambda one: str(one[key]))


def some(**members: st.SearchStrategy[object]) -> st.SearchStrategy[dict[str, object]]:
    """Draw a container with some of its members; names are written with hyphens."""
    named = {name.replace("_", "-"): strategy for name, strategy in members.items()}
    return st.fixed_dictionaries({}, optional=named)


def all_of(**members: st.SearchStrategy[object]) -> st.SearchStrategy[dict[str, object]]:
    """Draw a container with all of its members; names are written with hyphens."""
    return st.fixed_dictionaries({name.replace("_", "-"): strategy for name, strategy in members.items()})


def with_udp(
    key: str, udp: st.SearchStrategy[dict[str, object]], **leaves: st.SearchStrategy[object]
) -> st.SearchStrategy[list[dict[str, object]]]:
    """Draw entries of a list that stand for an address each."""
    named = {name.replace("_", "-"): strategy for name, strategy in leaves.items()}
    entry = st.fixed_dictionaries({key: NAMES, "udp": udp}, optional=named)
    return st.lists(entry, min_size=1, max_size=3, unique_by=lambda one: str(one[key]))


SYSTEM = some(
    contact=TEXTS,
    location=TEXTS,
    hostname=st.sampled_from(["card", "card.example.org"]),
    clock=st.one_of(
        some(timezone_name=st.just("Europe/Stockholm")), some(timezone_utc_offset=st.integers(-1500, 1500))
    ),
    ntp=some(
        enabled=st.booleans(),
        server=with_udp("name", all_of(address=HOSTS, port=PORTS), iburst=st.booleans()),
    ),
    radius=all_of(
        server=with_udp(
            "name",
            all_of(address=HOSTS, shared_secret=TEXTS),
            authentication_type=st.sampled_from(["ietf-system:radius-pap", "ietf-system:radius-chap"]),
        )
    ),
    authentication=all_of(
        user=entries("name", password=st.one_of(TEXTS.map("$0${}".format), st.just("$1$salt$" + "x" * 22)))
    ),
)
KEYED = all_of(key=KEYS)
SNMP = some(
    engine=some(
        enabled=st.booleans(),
        version=some(v1=st.just([None]), v2c=st.just([None]), v3=st.just([None])),
        engine_id=st.just("80:00:02:b8:04:61:62:63"),
        listen=with_udp("name", all_of(ip=ADDRESSES, port=PORTS)),
    ),
    community=st.lists(
        st.fixed_dictionaries(
            {"index": NAMES, "security-name": NAMES}, optional={"text-name": TEXTS, "target-tag": NAMES}
        ),
        min_size=1,
        max_size=3,
        unique_by=lambda one: one["index"],
    ),
    target=with_udp(
        "name",
        all_of(ip=ADDRESSES, prefix_length=st.integers(0, 32)),
        tag=st.lists(NAMES, min_size=1, max_size=2, unique=True),
    ).map(lambda targets: [{**target, "target-params": "params"} for target in targets]),
    notify=entries("name", type=st.sampled_from(["trap", "inform"])).map(
        lambda rows: [{**row, "tag": "a"} for row in rows]
    ),
    target_params=st.sampled_from(
        [
            [{"name": "params", "v1": {"security-name": "a"}}],
            [{"name": "params", "v2c": {"security-name": "b"}}],
            [{"name": "params", "usm": {"user-name": "u", "security-level": "auth-no-priv"}}],
        ]
    ),
    usm=all_of(local=all_of(user=entries("name", auth=st.one_of(all_of(sha=KEYED), all_of(md5=KEYED))))),
    vacm=all_of(
        group=st.lists(
            all_of(
                name=NAMES,
                member=st.lists(
                    all_of(
                        security_name=NAMES,
                        security_model=st.lists(
                            st.sampled_from(["v1", "v2c", "usm"]), min_size=1, unique=True
                        ),
                    ),
                    min_size=1,
                    max_size=2,
                    unique_by=lambda one: str(one["security-name"]),
                ),
                access=st.lists(
                    st.fixed_dictionaries(
                        {
                            "context": st.sampled_from(["", "a"]),
                            "security-model": st.sampled_from(["any", "v2c", "usm"]),
                            "security-level": st.sampled_from(["no-auth-no-priv", "auth-priv"]),
                        },
                        optional={"read-view": NAMES, "write-view": NAMES},
                    ),
                    max_size=2,
                    unique_by=lambda one: tuple(
                        one[key] for key in ("context", "security-model", "security-level")
                    ),
                ),
            ),
            min_size=1,
            max_size=2,
            unique_by=lambda one: str(one["name"]),
        )
    ),
)
INSTANCES = st.fixed_dictionaries({"ietf-system:system": SYSTEM, "ietf-snmp:snmp": SNMP}).filter(
    lambda instance: any(instance.values())
)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(INSTANCES)
def test_both_forms_of_any_instance_import_to_the_same(instance: Mapping[str, object]) -> None:
    """Whatever a valid instance holds: settings, losses and unmapped names do not hang on the form."""
    filled = {name: member for name, member in instance.items() if member}
    check(filled)
    text = checked(json.dumps(filled, indent=1).encode(), "card-1.json")
    xml = checked(as_xml(filled).encode(), "card-1.xml")
    assert xml.settings == text.settings
    assert xml.origins.keys() == text.origins.keys()
    assert (whys(xml), xml.unmapped) == (whys(text), text.unmapped)
