"""What kind of source a sample is, and how a labelled text is written: guesses for a first draft."""

import re
from collections import Counter
from collections.abc import Iterable, Sequence

from auditor.intake.mapping.language import Layout, SourceKind
from auditor.intake.mapping.terminal import read_lines

_PROMPT = re.compile(r"(?P<prompt>[^\s:=]{1,32}[>#]) \S")
_PLAIN = Layout(
    separator=":", sections=(), blocks=(), asides="", answers="", last_counts=False, namespaces={}
)
_OFTEN = 2


def kind_of(sample: bytes, file: str) -> SourceKind:
    """Return the kind of source that a sample most likely is."""
    start = sample.removeprefix(b"\xef\xbb\xbf").lstrip()[:4096]
    if start.startswith(b"<") or sample.startswith((b"\xff\xfe", b"\xfe\xff")):
        return SourceKind.XML
    if start.startswith(b"{") or (start.startswith(b"[") and file.lower().endswith(".json")):
        return SourceKind.JSON
    return SourceKind.CSV if file.lower().endswith(".csv") or _is_table(start) else SourceKind.TEXT


def _is_table(start: bytes) -> bool:
    first, second = (*start.splitlines(), b"", b"")[:2]
    return any(first.count(sign) == second.count(sign) > _OFTEN for sign in (b",", b";", b"\t"))


def layout_of(sample: bytes, file: str, source: SourceKind) -> Layout:
    """Return how a sample of labelled text most likely is written; the usual layout of any other.

    Raises:
        InputError: if the text can't be used.
    """
    if source is not SourceKind.TEXT:
        return _PLAIN
    lines = [line for _, line in read_lines(sample, file)]
    separator = max((":", "="), key=lambda sign: sum(sign in line for line in lines))
    labels = [line.partition(separator)[0].rstrip() for line in lines if separator in line]
    prompts = _prompts(lines)
    brackets = ("[*]",) if _often(line[0] == "[" and line[-1] == "]" for line in lines) else ()
    answers = "[]" if _often(label.endswith("]") and "[" in label for label in labels) else ""
    return Layout(
        separator=separator,
        sections=prompts or brackets,
        blocks=brackets if prompts else (),
        asides="()" if _often("(" in label and ")" in label for label in labels) else "",
        answers=answers,
        last_counts=bool(answers),
        namespaces={},
    )


def _prompts(lines: Sequence[str]) -> tuple[str, ...]:
    """Return forms of command lines: a prompt that stands often, with the words that follow it."""
    found = [match["prompt"] for line in lines if (match := _PROMPT.match(line))]
    prompts = [prompt for prompt, count in Counter(found).items() if count >= _OFTEN and "*" not in prompt]
    return tuple(f"{prompt} *" for prompt in prompts)


def _often(signs: Iterable[bool]) -> bool:
    return sum(signs) >= _OFTEN
