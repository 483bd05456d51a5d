"""Somebody who knows a card and answers every question of a dialogue about it."""

from auditor.intake.dialogue import Question
from auditor.intake.questions import ANOTHER
from auditor.record.cell import write_cell
from auditor.record.outline import ANY, leaf_at
from auditor.record.pointer import split, value_at
from auditor.record.settings import Settings


class Knower:
    """Answers as a record says; counts the members of lists as they are asked for."""

    def __init__(self, card: Settings) -> None:
        """Know one card."""
        self.card = card

    def answer(self, question: Question) -> str:
        """Return what this person answers; nothing where the card is not known."""
        tokens = split(question.pointer)
        if tokens[-1] == ANOTHER:
            return self._more(tokens[:-1], question.text)
        value = value_at(self.card, tokens)
        if value is None:
            return ""
        if question.hidden:
            return str(value["clear"])
        leaf = leaf_at(tuple(ANY if token.isdecimal() else token for token in tokens))
        assert leaf is not None
        if leaf.kind == "secret":
            return "empty" if "empty" in value else "clear"
        text = write_cell(leaf, value)
        return f'"{text}"' if text in _COMMANDS else text

    def _more(self, tokens: tuple[str, ...], asked: str) -> str:
        members = value_at(self.card, tokens)
        if members is None:
            return ""
        so_far = int(asked.rpartition("(")[2].split()[0]) if "another" in asked else 0
        return "yes" if so_far < len(members) else "no"


_COMMANDS = ("back", "forget", "?", "skip", "stop")
