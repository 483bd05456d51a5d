"""Values of YANG leaves: what is converted, and that a refusal never repeats the value."""

from collections.abc import Callable

import pytest

from auditor.intake.ietf.values import (
    UnfitError,
    base64_text_of,
    crypt_of,
    identity_of,
    localized_of,
    number_of,
    prefix_length_of,
    prefix_of,
    subtree_of,
    truth_of,
)


@pytest.mark.parametrize(
    ("convert", "text", "value"),
    [
        (truth_of, " true\n", True),
        (truth_of, "false", False),
        (number_of, " 162 ", 162),
        (number_of, "-480", -480),
        (identity_of, "sys:radius", "radius"),
        (identity_of, "radius", "radius"),
        (prefix_length_of, "255.255.255.192", 26),
        (prefix_length_of, "128.0.0.0", 1),
        (base64_text_of, "cHJp\n dmF0ZQ==", "private"),
        (crypt_of, "$0$admin", {"clear": "admin"}),
        (crypt_of, "$0$", {"empty": True}),
        (crypt_of, "$0$ $6$", {"clear": " $6$"}),
        (crypt_of, "$1$salt$" + "x" * 22, {"crypt": "$1$salt$" + "x" * 22}),
        (crypt_of, "$5$rounds=5000$s$" + "x" * 43, {"crypt": "$5$rounds=5000$s$" + "x" * 43}),
        (crypt_of, "$6$s$" + "x" * 86, {"crypt": "$6$s$" + "x" * 86}),
        (localized_of, "0A:" * 15 + "0B", {"localized": "0a" * 15 + "0b"}),
    ],
)
def test_a_value_is_converted(convert: Callable[[str], object], text: str, value: object) -> None:
    """Blanks around it only lay out the source; a clear password keeps them."""
    assert convert(text) == value


@pytest.mark.parametrize(
    ("convert", "text"),
    [
        (truth_of, "1"),
        (truth_of, "yes"),
        (number_of, "16 1"),
        (number_of, "1e3"),
        (number_of, "9" * 5000),
        (prefix_length_of, "255.0.255.0"),
        (prefix_length_of, "/24"),
        (base64_text_of, "/w=="),
        (base64_text_of, "no base64"),
        (crypt_of, "bare-password"),
        (crypt_of, "$2b$12$" + "x" * 53),
        (crypt_of, "$6$salt$" + "x" * 85),
        (crypt_of, "********"),
        (localized_of, "not:hex"),
        (localized_of, "0a:0b"),
        (localized_of, "********"),
        (subtree_of, "iso.org.6"),
        (subtree_of, ""),
        (subtree_of, "1..3"),
    ],
)
def test_a_refusal_does_not_repeat_the_value(convert: Callable[[str], object], text: str) -> None:
    """What a model calls no such value is refused; the crypt cases are those of FACTS on iana-crypt-hash."""
    with pytest.raises(UnfitError) as caught:
        convert(text)
    assert str(caught.value)
    assert not text or text not in str(caught.value)


@pytest.mark.parametrize(
    ("address", "length", "prefix"),
    [
        ("192.0.2.77", "", "192.0.2.77/32"),
        ("192.0.2.77", "26", "192.0.2.64/26"),
        ("2001:DB8::abcd", "", "2001:db8::abcd/128"),
        ("fe80::1%eth0", "64", "fe80::/64"),
        ("192.0.2.77", "0", "0.0.0.0/0"),
    ],
)
def test_an_address_and_a_length_make_a_prefix(address: str, length: str, prefix: str) -> None:
    """Without a length the address stands alone; bits behind the length are cleared."""
    assert prefix_of(address, length) == prefix


@pytest.mark.parametrize(
    ("address", "length"), [("a.example", "24"), ("192.0.2.1", "33"), ("192.0.2.1", "x")]
)
def test_no_prefix_is_made_of_anything_else(address: str, length: str) -> None:
    """A host name is no source that could be compared with an address."""
    with pytest.raises(UnfitError):
        prefix_of(address, length)


@pytest.mark.parametrize(
    ("text", "family"),
    [
        ("1.3.6.1", ("1.3.6.1", "")),
        (".1.3.6.1", ("1.3.6.1", "")),
        # RFC 3415: the first bit is the most significant; bits past the subtree mean nothing.
        ("1.3.6.1.2.1.2.2.1.*.1", ("1.3.6.1.2.1.2.2.1.0.1", "ffa0")),
        ("1.3.6.*", ("1.3.6.0", "e0")),
        ("*.3.6.1.4.1.9.9", ("0.3.6.1.4.1.9.9", "7f")),
    ],
)
def test_a_wildcard_is_a_zero_in_the_mask(text: str, family: tuple[str, str]) -> None:
    """The row for one interface in a table of interfaces has the mask FFA0, the worked case of RFC 3415."""
    assert subtree_of(text) == family
