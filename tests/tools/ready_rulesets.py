"""Make ``auditor/rules/ready-NAME.pickle`` from each shipped ruleset.

Run: python -m tests.tools.ready_rulesets
"""

from auditor.facts.catalogue import FACTS
from auditor.rules.loading import load_ruleset
from auditor.rules.ready import content_of, file_of
from auditor.rules.shipped import shipped_ruleset, shipped_rulesets


def make_ready() -> None:
    """Read every shipped ruleset, and write down what was read."""
    for name in shipped_rulesets():
        text, file = shipped_ruleset(name)
        file_of(name).write_bytes(content_of(load_ruleset(text, file, FACTS), text))


if __name__ == "__main__":
    make_ready()
