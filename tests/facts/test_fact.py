"""What a fact may know beside the record."""

from datetime import UTC, datetime

from auditor.dataclass import replace
from auditor.facts.fact import Context


def test_a_context_with_coverage_is_the_same_but_for_that() -> None:
    """No field is left behind: none of them has its default here."""
    moment = datetime(2026, 11, 25, 12, tzinfo=UTC)
    words, keys = frozenset({"admin"}), {"sha1": (b"key",)}
    context = Context(moment, words, 1.0, keys, ("word",), True, words, "digest")  # noqa: FBT003 - a field
    assert context.with_coverage(50.0) == replace(context, coverage_percent=50.0)
    assert Context.__match_args__ == (
        "as_of", "words", "coverage_percent", "word_keys", "hash_words", "in_work_tree", "own_words",
        "word_list",
    )  # fmt: skip
