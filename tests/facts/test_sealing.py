"""Sealing: no clear secret is left, and every rule says of the sealed record what it said before."""

import hashlib
import hmac
import random
from dataclasses import replace
from typing import Any

import orjson
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from auditor.facts.catalogue import FACTS
from auditor.facts.fact import Context
from auditor.facts.sealing import KEY_OCTETS, LENGTHS, key_name, length_band, seal, tag_of
from auditor.facts.secret_class import is_variant_of_well_known, is_well_known
from auditor.facts.words import well_known_words
from auditor.fleet.context import context_of_run
from auditor.record.outline import ANY
from auditor.record.pointer import split
from auditor.record.reading import read_record
from auditor.record.secret_place import located_secrets, secret_places
from auditor.record.settings import Settings
from auditor.rules.condition import Leaf, Subject, leaves
from auditor.rules.expression import BOUNDED_UNIT
from auditor.rules.result import Outcome
from auditor.rules.rule import Rule
from auditor.rules.word_list import read_word_list
from auditor.scoring.assessment import CardAssessment, assess
from tests.record.mutations import compliant
from tests.rules.matrix import AS_OF, card_of, program, read_cases, word_keys
from tests.rules.mutation import random_card

KEY = bytes(range(KEY_OCTETS))
CONTEXT = Context(AS_OF, well_known_words(), word_keys=word_keys(), in_work_tree=False)
HOLLOW = (
    "public", "PassWord", "Kestrel", "1qaz2wsx3edc4rfv",
    "admin2026", "Public-1!", "bertbert", "aaaaaaaaaaaaaaaaaaaa", "20241231",
    "31.12.2024", "north-a-ups-01", "monitoring", "keeper2024", "x", "1234567", "12345678",
    "correct horse battery staple",
    "tr0ub4dor&3", "élève-Ω-42-garçon", "Kestrel-ladder-58-quartz", "Kestrel-ladder-58-quartz",
    *(("kV9#" * 8)[:size] for size in (7, 8, 11, 12, 14, 15, 16, 19, 20)),
)  # fmt: skip
"""Texts around every cut of length, and of every kind that a rule looks for."""

OTHERS: tuple[dict[str, Any], ...] = (
    {"empty": True},
    {"crypt": "$0$"},
    {"crypt": "$6$salt$" + "a" * 86},
    {"localized": "66" * 20},
    {"localized": "66" * 16},
)


def with_secrets(card: Settings, dice: random.Random) -> Settings:
    """Return a card with other secrets: clear ones of all kinds, hashes, keys and none at all."""
    pool = dice.sample(HOLLOW, 4)  # few, so that some are the same
    for located in list(located_secrets(card)):
        located.secret.clear()
        text = dice.choice(pool)
        clear = {"clear": text} if dice.random() < 0.8 else {"crypt": f"$0${text}"}
        located.secret.update(clear if dice.random() < 0.8 else dice.choice(OTHERS))
    return card


def read(card: Settings) -> Settings:
    """Return a card as it is read from a record."""
    return read_record(orjson.dumps(card), "made.json").settings


def sealed_text(card: Settings, context: Context = CONTEXT) -> bytes:
    """Return the sealed record as it would be written."""
    return orjson.dumps(seal(read(card), KEY, context))


def of_site(*words: str) -> Context:
    """Return the context of a site with words of its own."""
    listed = read_word_list("\n".join(words).encode(), "words.txt")
    made = context_of_run(AS_OF, listed)
    return replace(made, word_keys=word_keys(), in_work_tree=False)


SITE = of_site("Kestrel-ladder-58-quartz", "keeper", "tr0ub4dor&3", "PUBLIC", "admin2026", "x")
OTHER_SITE = of_site("keeper", "20241231")


def said(record: bytes, *, compiled: bool = True, context: Context = CONTEXT) -> dict[str, Any]:
    """Return all that an audit says of a record but the words of its evidence."""
    read_in = read_record(record, "made.json")
    used = program({"guess_estimate": True})
    found: CardAssessment = assess(read_in, used, context, compiled=compiled)
    return {
        "outcomes": {r.rule.id: (r.outcome, r.passed, r.counted) for r in found.results},
        "findings": [(f.rule.id, f.pointer, f.outcome, f.severity, f.message) for f in found.findings],
        "missing": [(m.rule.id, m.pointer) for m in found.missing],
        "score": found.score,
        "coverage": found.coverage_percent,
        "worst": found.worst,
    }


@settings(deadline=None, max_examples=60)
@given(st.integers())
def test_a_sealed_record_audits_as_the_clear_one(seed: int) -> None:
    """Outcomes, findings, severities, scores and coverage are the same, whatever the secrets."""
    dice = random.Random(seed)  # noqa: S311 - made-up data
    card = with_secrets(random_card(dice), dice)
    sealed = sealed_text(card)
    assert said(sealed) == said(orjson.dumps(card))
    assert said(sealed)["outcomes"] == said(sealed, compiled=False)["outcomes"]


@settings(deadline=None, max_examples=60)
@given(st.integers())
def test_a_record_sealed_with_the_site_s_words_audits_as_the_clear_one(seed: int) -> None:
    """With the site's list in force, and without it: what only the list adds is kept apart."""
    dice = random.Random(seed)  # noqa: S311 - made-up data
    card = with_secrets(random_card(dice), dice)
    sealed = sealed_text(card, SITE)
    for context in (SITE, CONTEXT):
        assert said(sealed, context=context) == said(orjson.dumps(card), context=context)


@settings(deadline=None, max_examples=60)
@given(st.integers())
def test_a_record_sealed_without_the_list_in_force_is_never_wrong(seed: int) -> None:
    """What the list might have said is unknown then: no pass that the clear record does not have."""
    dice = random.Random(seed)  # noqa: S311 - made-up data
    card = with_secrets(random_card(dice), dice)
    for context in (CONTEXT, OTHER_SITE):
        sealed = read_record(sealed_text(card, context), "made.json").settings
        for judge in (is_well_known, is_variant_of_well_known):
            pairs = zip(located_secrets(read(card)), located_secrets(sealed), strict=True)
            told = [(judge(kept.secret, SITE), judge(clear.secret, SITE)) for clear, kept in pairs]
            assert [(said, true) for said, true in told if said not in (None, true)] == []


@pytest.mark.parametrize(
    ("text", "listed", "flags"),
    [
        ("Public", "well_known", []),
        ("public2024", "none", ["well_known_variant"]),
        ("KEEPER", "common", ["site_word"]),
        ("keeper2024", "none", ["site_variant"]),
        ("admin2026", "none", ["well_known_variant", "site_word"]),
        ("31.12.2024", "none", ["date"]),
        ("Kestrel", "common", []),
    ],
)
def test_what_the_site_s_words_add_is_kept_apart(text: str, listed: str, flags: list[str]) -> None:
    """The shipped list says one thing, the site's another; a digest says which list that was."""
    card = {"card": {"id": "c"}, "accounts": [{"name": "a", "password": {"clear": text}}]}
    kept = seal(card, KEY, SITE)["accounts"][0]["password"]["sealed"]
    assert (kept["listed"], kept["flags"], kept["word_list"]) == (listed, flags, SITE.word_list)
    assert "word_list" not in seal(card, KEY, CONTEXT)["accounts"][0]["password"]["sealed"]


def test_every_kind_of_outcome_of_the_secret_rules_was_compared() -> None:
    """Cards to which each rule on secrets applies make it pass and fail, sealed as in clear."""
    passing, failing = set(), set()
    judged = {rule.id for rule in program({}).rules if _is_on_secrets(rule)}
    for number, case in enumerate(2 * [case for case in read_cases() if case.rule in judged]):
        dice = random.Random(number)  # noqa: S311 - made-up data
        card = with_secrets(card_of(case), dice)
        outcomes = said(orjson.dumps(card))["outcomes"]
        assert said(sealed_text(card))["outcomes"] == outcomes
        passing |= {name for name, (_, passed, _) in outcomes.items() if passed}
        failing |= {name for name, (outcome, _, _) in outcomes.items() if outcome is Outcome.FAIL}
    assert len(judged) > 25
    assert judged - passing == set()
    assert judged - failing == {"account-hash-of-default-password", "account-hash-weak-scheme"}


def _is_on_secrets(rule: Rule) -> bool:
    """Say whether a rule asks something of a secret itself."""
    asked = [FACTS[leaf.name] for leaf in leaves(rule.require) if leaf.subject is Subject.FACT]
    return any((*split(fact.about), *split(fact.reads[0])) in _SECRETS for fact in asked)


_SECRETS = {tuple(token for token in place.tokens if token != ANY) for place in secret_places()}


@settings(deadline=None, max_examples=40)
@given(st.integers())
def test_no_clear_secret_is_left(seed: int) -> None:
    """The sealed record is valid, holds no clear secret, and nothing but secrets was changed."""
    dice = random.Random(seed)  # noqa: S311 - made-up data
    card = with_secrets(random_card(dice), dice)
    record = read_record(sealed_text(card), "made.json")
    assert not record.holds_clear
    before, after = (orjson.loads(orjson.dumps(each)) for each in (card, seal(card, KEY, CONTEXT)))
    for each in (before, after):
        for located in list(located_secrets(each)):
            located.secret.clear()
    assert before == after


def test_what_is_no_clear_secret_stays_as_it_is() -> None:
    """Hashes, keys, the empty secret and what was sealed before are not touched."""
    others = [*(other for other in OTHERS if other != {"crypt": "$0$"}), {"sealed": {"length": 9}}]
    card = {"accounts": [{"name": str(n), "password": dict(other)} for n, other in enumerate(others)]}
    assert seal(card, KEY, CONTEXT) == card


def test_sealing_again_changes_nothing() -> None:
    """A sealed record is sealed; another key does not touch its tags."""
    card = with_secrets(random_card(random.Random(1)), random.Random(1))  # noqa: S311 - made-up data
    once = orjson.loads(sealed_text(card))
    assert seal(once, bytes(KEY_OCTETS), CONTEXT) == once


def test_a_tag_is_hmac_sha_256_of_kind_and_text() -> None:
    """The tag follows the standard library's other interface to HMAC (RFC 2104), fed piece by piece."""
    mac = hmac.new(KEY, digestmod=hashlib.sha256)
    for piece in ("witnessmark/seal-1", "\0", "password", "\0", "s3cret"):
        mac.update(piece.encode())
    assert tag_of("s3cret", "password", KEY) == mac.hexdigest()


def test_tags_are_equal_within_a_kind_and_a_key_only() -> None:
    """The same text is another tag as a community, and another under another key."""
    tags = {tag_of("x", kind, key) for kind in ("password", "community") for key in (KEY, KEY[::-1])}
    assert len(tags) == 4
    assert key_name(KEY) != key_name(KEY[::-1])


def test_a_short_key_is_refused() -> None:
    """A key that could be tried out seals nothing."""
    with pytest.raises(ValueError, match="32 octets"):
        seal({}, KEY[:-1], CONTEXT)


@pytest.mark.parametrize(
    ("length", "least", "most"),
    [
        (1, 1, 7),
        (7, 1, 7),
        (8, 8, 11),
        (12, 12, 14),
        (15, 15, 15),
        (16, 16, 19),
        (20, 20, None),
        (4096, 20, None),
    ],
)
def test_lengths_go_into_bands(length: int, least: int, most: int | None) -> None:
    """A sealed secret tells between which lengths its own lies."""
    band = length_band(length)
    assert (band["length_at_least"], band.get("length_at_most")) == (least, most)


def test_every_length_that_a_shipped_rule_asks_for_is_a_cut() -> None:
    """Otherwise a sealed secret would leave that rule unknown."""
    conditions = [c for rule in program({}).rules for c in (rule.applies_when, rule.require) if c is not None]
    asked = {leaf.operand for c in conditions for leaf in leaves(c) if _is_length(leaf)}
    assert asked <= set(LENGTHS)
    assert {8, 12, 15, 16} <= asked


def _is_length(leaf: Leaf) -> bool:
    return leaf.subject is Subject.FACT and FACTS[leaf.name].unit == BOUNDED_UNIT


def test_a_tailored_length_inside_a_band_is_unknown() -> None:
    """10 characters lie inside 8 to 11: whether a sealed secret has them nobody can say."""
    card = compliant()
    for account in card["accounts"]:
        account.update({"password": {"clear": "zq8-kv3.w"}, "second_factor": False})
    used = program({"password_characters_minimum": 10})
    outcomes = []
    for text in (orjson.dumps(card), sealed_text(card)):
        results = assess(read_record(text, "a.json"), used, CONTEXT).results
        outcomes.append(next(r.outcome for r in results if r.rule.id == "password-short"))
    assert outcomes == [Outcome.FAIL, Outcome.UNKNOWN]


def test_every_secret_of_the_schema_has_a_kind() -> None:
    """A secret that is added to the schema is first given its kind, or its tags compare with nothing."""
    assert [place for place in secret_places() if place.kind.startswith("/")] == []
