"""Drafts of maps: they load, they take a fair share, and they write no value of the sample."""

import time
from collections.abc import Mapping
from typing import Final

import orjson
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from auditor.errors import InputError
from auditor.intake.mapping.applying import apply_map
from auditor.intake.mapping.draft_map import draft_map
from auditor.intake.mapping.language import SourceKind
from auditor.intake.mapping.loading import load_map
from auditor.intake.mapping.name_match import similarity, words_of
from auditor.intake.mapping.sample_kind import kind_of
from auditor.record.outline import leaf_at
from auditor.record.pointer import split, value_at
from tests.intake.mapping.samples import MAPS, family_map, imported

# The families have words of their own for nearly everything; of what their hand-written maps take,
# a draft finds this share at least, and this share of what it takes is the same. Our own figures.
SHARES: Final[Mapping[tuple[str, str], tuple[float, float]]] = {
    ("card-family-a", "wvl-ups-store.xml"): (0.30, 0.80),
    ("card-family-b", "rsv-ups-pumps.txt"): (0.25, 0.65),
    ("card-family-c", "mkt-pdu-row-2.json"): (0.25, 0.85),
}


@pytest.mark.parametrize(("family", "file"), SHARES)
def test_a_draft_loads_and_takes_a_share_of_the_hand_written_map(family: str, file: str) -> None:
    """Without a word changed in it."""
    text = (MAPS / family / file).read_bytes()
    [drafted] = apply_map(load_map(draft_map(text, file).encode(), "draft.toml"), text, file)
    [written] = apply_map(family_map(family), text, file)
    same = [
        pointer
        for pointer in drafted.origins
        if pointer in written.origins
        and value_at(drafted.settings, split(pointer)) == value_at(written.settings, split(pointer))
    ]
    share, right = SHARES[family, file]
    assert len(same) >= share * len(written.origins)
    assert len(same) >= right * len(drafted.origins)


@pytest.mark.parametrize(("family", "file"), SHARES)
def test_a_draft_writes_no_secret_of_its_sample(family: str, file: str) -> None:
    """It has names, places and forms; values stay in the sample."""
    text = (MAPS / family / file).read_bytes()
    draft = draft_map(text, file)
    secrets = (
        "hilltop-7-reader",
        "quarry-9",
        "$6$",
        "ridge-4-west",
        "public",
        "copper-lantern",
        "slow-river",
        "8d2f4b",
    )
    assert [secret for secret in secrets if secret in draft] == []


def test_a_sample_in_the_words_of_the_record_is_drafted_nearly_whole() -> None:
    """What is named as in the record, or in common words of the trade, is found."""
    text = b"""{"network": {"hostname": "ups-1", "dns-servers": ["192.0.2.53"]},
      "services": {"telnet": {"enabled": false, "port": 23}, "ssh": {"state": "on"}},
      "accounts": [{"name": "ada", "role": "administrator", "enabled": true}],
      "snmp": {"communities": [{"community": "x", "access": "read"}]},
      "log": {"syslog": [{"host": "192.0.2.60", "port": 514, "transport": "udp"}]},
      "time": {"timezone": "Europe/London"}}"""
    draft = draft_map(text, "ups-1.json")
    found = imported(load_map(draft.encode(), "draft.toml"), text).settings
    assert found["network"] == {"hostname": "ups-1", "dns_servers": ["192.0.2.53"]}
    assert found["services"] == {"telnet": {"enabled": False, "port": 23}, "ssh": {"enabled": True}}
    assert found["accounts"] == [{"name": "ada", "role": "administrator", "enabled": True}]
    assert found["log"]["collectors"] == [{"host": "192.0.2.60", "port": 514, "transport": "udp"}]
    assert found["time"] == {"timezone": "Europe/London"}


def test_every_guess_is_marked_and_the_rest_is_listed() -> None:
    """With its similarity; what has no guess is a comment, with its line."""
    draft = draft_map(b"Host name: a\nFrobnication: 7\n", "card.txt")
    lines = draft.splitlines()
    tables = [line for line in lines if line.startswith("[[")]
    assert tables == ["[[setting]]   # guess, similarity 0.90"]
    assert '#   "Frobnication"   line 2' in lines


def test_a_unit_is_guessed_from_a_name_only() -> None:
    """A number without a unit waits for somebody who knows it."""
    draft = draft_map(b"Session timeout (min): 15\nPoll interval: 64\n", "card.txt")
    assert 'unit = "min"   # guess, by the name of the setting' in draft
    assert '# unit = "s"   # the sample gives none: say which it is' in draft


def test_a_form_of_a_date_is_guessed_where_only_one_fits() -> None:
    """Where two fit, somebody must choose."""
    assert 'form = "DD/MM/YYYY"   # guess' in draft_map(b"Firmware date: 25/11/2026\n", "c.txt").splitlines()
    lines = draft_map(b"Firmware date: 05/11/2026\n", "c.txt").splitlines()
    assert '# form = "DD/MM/YYYY"   # choose' in lines
    assert '# form = "MM/DD/YYYY"   # choose' in lines


def test_words_of_the_record_are_offered_where_the_sample_has_others() -> None:
    """As comments: which word stands for which, the sample does not tell."""
    draft = draft_map(b'{"accounts": [{"name": "a", "role": "boss"}]}', "c.json")
    assert "# the record has: administrator, operator, viewer" in draft
    assert "boss" not in draft


@pytest.mark.parametrize(
    ("text", "file", "kind"),
    [
        (b"<a/>", "x", SourceKind.XML),
        (b"\xef\xbb\xbf \n<a/>", "x", SourceKind.XML),
        (b'{"a": 1}', "x", SourceKind.JSON),
        (b"[1]", "x.json", SourceKind.JSON),
        (b"[section]\na=1", "x.ini", SourceKind.TEXT),
        (b"a;b;c;d\n1;2;3;4\n", "x", SourceKind.CSV),
        (b"a,b\n", "x.csv", SourceKind.CSV),
        (b"a: 1\nb: 2\n", "x", SourceKind.TEXT),
        (b"", "x", SourceKind.TEXT),
    ],
)
def test_the_kind_of_a_sample_is_seen_from_its_beginning(text: bytes, file: str, kind: SourceKind) -> None:
    """Content first, then the ending of its name."""
    assert kind_of(text, file) is kind


def test_a_name_that_many_settings_have_needs_what_it_stands_in() -> None:
    """Enabled is not enabled: telnet's is not that of SSH."""
    leaf = leaf_at(("services", "telnet", "enabled"))
    assert leaf is not None
    state = words_of("state")
    assert similarity(state, words_of("telnet"), leaf) == 1
    assert similarity(state, words_of("services"), leaf) == 0
    assert similarity(state, words_of("mail"), leaf) == 0


TEXTS: Final = st.text(max_size=8)
ITEMS: Final = st.lists(st.dictionaries(TEXTS, TEXTS, max_size=2), max_size=3)
VALUES: Final = st.one_of(TEXTS, st.booleans(), st.integers(0, 99), ITEMS)


@settings(max_examples=60, deadline=None)
@given(st.dictionaries(st.text(min_size=1, max_size=12), VALUES, max_size=5))
def test_a_draft_of_any_json_loads(sample: dict[str, object]) -> None:
    """Whatever names it has: quotation marks, control characters, slashes."""
    text = orjson.dumps(sample)
    assert load_map(draft_map(text, "x.json").encode(), "draft.toml").source is SourceKind.JSON


@settings(max_examples=60, deadline=None)
@given(st.text("ab:=[]()>#1 \n\x1b\t-.", max_size=120))
def test_a_draft_of_any_text_loads(sample: str) -> None:
    """Labels of any make, prompts of any kind; or it is refused in words."""
    try:
        draft = draft_map(sample.encode(), "x.log")
    except InputError as error:
        assert error.faults  # noqa: PT017 - being refused is one of the two right ends
        return
    load_map(draft.encode(), "draft.toml")


def test_a_huge_sample_is_drafted_in_bounded_time() -> None:
    """Only so many of its settings are matched; the rest is counted."""
    letters = str.maketrans("0123456789", "abcdefghij")
    text = "".join(f"Thing {str(n).translate(letters)}: {n}\n" for n in range(20_000)).encode()
    began = time.process_time()
    draft = draft_map(text, "x.txt")
    assert "more" in draft.splitlines()[-1]
    assert time.process_time() - began < 60
