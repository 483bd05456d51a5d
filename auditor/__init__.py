"""witnessmark: audit the settings of network management cards in power equipment, offline.

The public door: ``audit`` judges files and folders of records, ``audit_stream`` those of an
estate too large to keep, ``load_program`` chooses the rules. README has a worked example.
"""

from importlib import import_module
from typing import TYPE_CHECKING

from auditor.version import VERSION as __version__  # noqa: N811 - the name that Python expects

if TYPE_CHECKING:
    from auditor.errors import AuditorError, Fault, InputError, OutputError, RecordError, RulesetError
    from auditor.fleet.audit import Audited, audit, audit_stream
    from auditor.fleet.choices import load_program
    from auditor.fleet.estate import EstateSummary, GroupSum
    from auditor.record.reading import Record, read_record
    from auditor.rules.evidence import Evidence
    from auditor.rules.program import Program
    from auditor.rules.result import Outcome
    from auditor.scoring.assessment import CardAssessment, Finding, Missing
    from auditor.scoring.band import Band

__all__ = [
    "Audited",
    "AuditorError",
    "Band",
    "CardAssessment",
    "EstateSummary",
    "Evidence",
    "Fault",
    "Finding",
    "GroupSum",
    "InputError",
    "Missing",
    "Outcome",
    "OutputError",
    "Program",
    "Record",
    "RecordError",
    "RulesetError",
    "__version__",
    "audit",
    "audit_stream",
    "load_program",
    "read_record",
]

_PLACES = {
    "Audited": "fleet.audit",
    "AuditorError": "errors",
    "Band": "scoring.band",
    "CardAssessment": "scoring.assessment",
    "EstateSummary": "fleet.estate",
    "Evidence": "rules.evidence",
    "Fault": "errors",
    "Finding": "scoring.assessment",
    "GroupSum": "fleet.estate",
    "InputError": "errors",
    "Missing": "scoring.assessment",
    "Outcome": "rules.result",
    "OutputError": "errors",
    "Program": "rules.program",
    "Record": "record.reading",
    "RecordError": "errors",
    "RulesetError": "errors",
    "audit": "fleet.audit",
    "audit_stream": "fleet.audit",
    "load_program": "fleet.choices",
    "read_record": "record.reading",
}
"""Where each public name is made. It is imported when it is asked for: a command that needs none is quick."""

if not TYPE_CHECKING:  # a type checker is to refuse any other name

    def __getattr__(name: str) -> object:
        """Return a public name (PEP 562).

        Raises:
            AttributeError: if there is none of that name.
        """
        if name not in _PLACES:
            raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
        found: object = getattr(import_module(f"auditor.{_PLACES[name]}"), name)
        globals()[name] = found
        return found


def __dir__() -> list[str]:
    return __all__
