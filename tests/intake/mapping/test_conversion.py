"""Every transform of a map, on the texts that exports really hold."""

import pytest

from auditor.intake.mapping.language import Map
from tests.intake.mapping.samples import imported, made, setting, taken, whys


def one(to: str, *options: str) -> Map:
    """Return a map of labelled text with one setting, taken from the label x."""
    return made("text", setting(to, *options))


@pytest.mark.parametrize("word", ["on", "Yes", "TRUE", "enabled", "1", " active "])
def test_truth_words_are_true(word: str) -> None:
    """In any case, with any blanks."""
    assert taken(one("/services/telnet/enabled"), f"x:{word}", "/services/telnet/enabled") is True


@pytest.mark.parametrize("word", ["off", "No", "FALSE", "disabled", "0", "inactive"])
def test_truth_words_are_false(word: str) -> None:
    """False is a value, not a lack of one."""
    assert taken(one("/services/telnet/enabled"), f"x: {word}", "/services/telnet/enabled") is False


def test_own_truth_words_replace_the_usual_ones() -> None:
    """Even so that on means false, where a source says that something is switched off."""
    chosen = one("/services/telnet/enabled", 'yes = ["locked out"]', 'no = ["on"]')
    assert taken(chosen, "x: Locked  Out", "/services/telnet/enabled") is True
    assert taken(chosen, "x: on", "/services/telnet/enabled") is False
    assert whys(imported(chosen, "x: yes")) == ["no word for true or false that is known (yes, no)"]


def test_an_empty_text_says_nothing_unless_the_map_gives_it_a_sense() -> None:
    """A flag element without text can mean true; by itself it means nothing."""
    text = "<r><x/></r>"
    to = "/services/telnet/enabled"
    assert taken(made("xml", setting(to)), text, to) is None
    assert whys(imported(made("xml", setting(to)), text)) == []
    assert taken(made("xml", setting(to, 'yes = [""]')), text, to) is True


@pytest.mark.parametrize(
    ("to", "text", "value"),
    [
        ("/tls/versions", "TLS 1.2, tls_1_3", ["tls_1_2", "tls_1_3"]),
        ("/snmp/users/0/auth_protocol", "SHA-256", None),
        ("/mail/protection", "STARTTLS_required", "starttls_required"),
        ("/services/wifi/security", "WPA2-Enterprise", "wpa2_enterprise"),
        ("/equipment/redundancy", "N + 1", None),
    ],
)
def test_a_word_of_the_schema_is_met_in_any_dress(to: str, text: str, value: object) -> None:
    """Case, blanks, hyphens and dots differ between exports; letters and digits decide."""
    if "/0/" not in to:
        assert taken(one(to), f"x: {text}", to) == value


def test_words_of_the_source_stand_for_words_of_the_schema() -> None:
    """A table in the map; what is in neither is lost, and the schema's own words still count."""
    chosen = one("/equipment/redundancy", 'words = { "N+1" = "n_plus_1", "single" = "none" }')
    assert taken(chosen, "x: n+1", "/equipment/redundancy") == "n_plus_1"
    assert taken(chosen, "x: two n", "/equipment/redundancy") == "two_n"
    assert whys(imported(chosen, "x: triple")) == ["no word that the map or the schema knows (words)"]


def test_one_word_can_stand_for_several_values() -> None:
    """A mode of the source that is a list in the record."""
    chosen = one("/snmp/versions", 'words = { "old and new" = ["v1", "v3"], "neither" = [] }')
    assert taken(chosen, "x: old and new", "/snmp/versions") == ["v1", "v3"]
    assert taken(chosen, "x: neither", "/snmp/versions") == []


def test_a_list_is_split_and_tells_each_item_once() -> None:
    """At the comma unless the map says otherwise; half a list is none."""
    to = "/network/dns_servers"
    assert taken(one(to), "x: 192.0.2.1, 192.0.2.2,192.0.2.1,", to) == ["192.0.2.1", "192.0.2.2"]
    assert taken(one(to, 'split = " "'), "x: 192.0.2.1  192.0.2.2", to) == ["192.0.2.1", "192.0.2.2"]
    assert taken(one(to), "x: 192.0.2.1, nonsense", to) is None


def test_none_is_configured_only_where_the_map_says_what_means_it() -> None:
    """An empty list is a claim; an empty text alone makes none."""
    to = "/network/dns_servers"
    text = "<r><x/></r>"
    assert taken(made("xml", setting(to)), text, to) is None
    assert taken(made("xml", setting(to, 'none = ["", "none"]')), text, to) == []
    assert taken(made("xml", setting(to, 'none = ["none"]')), "<r><x>None</x></r>", to) == []


def test_sources_are_any_some_or_nobody() -> None:
    """Words for any and for nobody, prefixes in every form; an empty text is no answer."""
    to = "/services/ssh/allowed_sources"
    assert taken(one(to), "x: *", to) == {"any": True}
    assert taken(one(to, 'any = ["wide open"]'), "x: Wide open", to) == {"any": True}
    assert taken(one(to), "x: 192.0.2.0/24, 198.51.100.7", to) == {
        "prefixes": ["192.0.2.0/24", "198.51.100.7/32"]
    }
    assert taken(one(to, 'none = ["nobody"]'), "x: nobody", to) == {"prefixes": []}
    assert taken(one(to), "x:", to) is None


def test_an_empty_list_of_sources_is_no_answer() -> None:
    """Some cards mean nobody by it, others anybody: the map must say."""
    to = "/services/ssh/allowed_sources"
    assert taken(made("json", setting(to, place="/x/*")), '{"x": []}', to) is None
    assert taken(made("json", setting(to, 'any = [""]', place="/x/*")), '{"x": []}', to) == {"any": True}
    assert taken(made("json", setting(to, 'none = [""]', place="/x/*")), '{"x": []}', to) == {"prefixes": []}


def test_a_secret_has_the_form_that_the_map_states() -> None:
    """Clear as it stands, blanks included; a hash; a localized key without its dress."""
    to = "/mail/password"
    assert taken(made("json", setting(to, place="/x")), '{"x": " two words "}', to) == {
        "clear": " two words "
    }
    assert taken(one(to, 'form = "crypt"'), "x: $6$salt$hash", to) == {"crypt": "$6$salt$hash"}
    key = "0x" + "AB:" * 15 + "AB"
    assert taken(one(to, 'form = "localized"'), f"x: {key}", to) == {"localized": "ab" * 16}


@pytest.mark.parametrize(
    ("form", "text", "why"),
    [
        ("clear", "********", "a masked value is not a secret"),
        ("crypt", "<hidden>", "a masked value is not a secret"),
        ("crypt", "plainword", "not a hash in crypt form, which begins with a dollar sign"),
        ("localized", "not hex", "not a localized key in hexadecimal digits"),
        ("localized", "abcd", "expected text of the form below"),
    ],
)
def test_what_is_no_secret_of_that_form_is_lost_and_not_repeated(form: str, text: str, why: str) -> None:
    """A masked value is unknown; a wrong form is not kept as another one."""
    found = imported(one("/mail/password", f'form = "{form}"'), f"x: {text}")
    assert whys(found) == [why]
    assert text not in repr(found.lost)


def test_an_empty_secret_is_claimed_only_where_the_map_says_so() -> None:
    """A terminal that does not echo looks the same as a password that is empty."""
    assert taken(one("/mail/password", 'none = ["", "not set"]'), "x:", "/mail/password") == {"empty": True}
    assert taken(one("/mail/password", 'none = ["not set"]'), "x: Not set", "/mail/password") == {
        "empty": True
    }
    [why] = whys(imported(one("/mail/password"), "x:"))
    assert why.startswith("an empty text")


def test_a_masked_value_is_unknown_whatever_was_expected() -> None:
    """Asterisks are no number either."""
    assert whys(imported(one("/snmp/port"), "x: *****")) == ["a masked value is not a secret"]


def test_words_for_unknown_leave_a_setting_out() -> None:
    """Said to be unknown is not the same as not convertible: nothing is lost."""
    chosen = one("/time/poll_interval_s", 'unknown = ["n/a", "-"]')
    assert taken(chosen, "x: N/A", "/time/poll_interval_s") is None
    assert whys(imported(chosen, "x: -")) == []


def test_text_is_trimmed_to_what_counts() -> None:
    """After one text, before another, as far as they are there."""
    chosen = one("/card/firmware_version", 'after = "v"', 'before = " ("')
    assert taken(chosen, "x: release v2.08 (build 311)", "/card/firmware_version") == "2.08"
    assert taken(chosen, "x: 2.08", "/card/firmware_version") == "2.08"


def test_several_places_are_the_first_that_is_there_or_joined() -> None:
    """One release calls it so, the next otherwise; a date and its time make one moment."""
    body = '[[setting]]\nto = "/card/name"\nfrom = ["title", "label"]\n'
    assert taken(made("text", body), "label: B\n", "/card/name") == "B"
    assert taken(made("text", body), "label: B\ntitle: A\n", "/card/name") == "A"
    joined = (
        '[[setting]]\nto = "/capture/card_clock"\nfrom = ["day", "hour"]\njoin = " "\n'
        'form = "DD/MM/YYYY hh:mm"\noffset = "Z"\n'
    )
    text = "hour: 09:30\nday: 25/11/2026\n"
    assert taken(made("text", joined), text, "/capture/card_clock") == "2026-11-25T09:30:00+00:00"
    assert taken(made("text", joined), "day: 25/11/2026\n", "/capture/card_clock") is None


def test_a_fixed_value_comes_from_the_map() -> None:
    """Its origin is the line of the map."""
    found = imported(made("text", '[[setting]]\nto = "/equipment/kind"\nvalue = "pdu"\n'), "x: 1")
    assert found.settings == {"equipment": {"kind": "pdu"}}
    assert str(found.origins["/equipment/kind"]) == "m.toml:7 (a fixed value of the map)"


def test_a_value_that_the_schema_refuses_is_lost() -> None:
    """A port beyond 65535, half a number of accounts."""
    assert whys(imported(one("/snmp/port"), "x: 65536")) == ["expected a whole number, 1 to 65535"]
    assert whys(imported(one("/access_policy/lockout/attempts"), "x: 2.5")) == [
        "expected a whole number, 1 to 100000"
    ]


def test_a_setting_told_twice_and_differently_is_lost() -> None:
    """Contradictions are told with both lines, never settled in silence; equal texts are no contradiction."""
    assert whys(imported(one("/card/name"), "x: a\ny: 1\nx: b\n")) == [
        "told 2 times, and differently (lines 1, 3)"
    ]
    assert taken(one("/card/name"), "x: a\nx: a\n", "/card/name") == "a"
