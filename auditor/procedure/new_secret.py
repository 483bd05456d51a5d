"""What stands in a record for a secret that is yet to be made, and how to make one.

The tool makes no secret and knows none: the after-image says only what the recipe brings about.
"""

import hashlib
from typing import Any, Final

from auditor.facts.secret_class import NEW_KEY
from auditor.procedure.edit import Edit, EditKind

CHARACTERS: Final = 20
"""Least length of a secret that is made anew: 20 letters and digits drawn by lot have some 119 bits
(20 times log2 62), beyond every band of guessing. Own choice; a rule may ask for more."""


def new_secret(card_id: str, tokens: tuple[str, ...], characters: int) -> Edit:
    """Return the change of a secret to one that is made by the recipe.

    Its tag stands for a secret unlike any other: two places of one estate never have the same.
    """
    length = max(characters, CHARACTERS)
    sealed: dict[str, Any] = {
        "length_at_least": length,
        "listed": "none",
        "guess_band": "beyond",
        "flags": [],
        "key": NEW_KEY,
        "tag": hashlib.sha256("\0".join(("witnessmark/new-secret-1", card_id, *tokens)).encode()).hexdigest(),
    }
    return Edit(tokens, {"sealed": sealed}, EditKind.NEW_SECRET, recipe_text(length))


def recipe_text(characters: int) -> str:
    """Return how to make a secret of so many characters."""
    return (
        f"New: {characters} or more letters and digits, drawn at random by the site's password store, used "
        "nowhere else. Keep it there and write it nowhere. Check the longest that the card takes"
    )
