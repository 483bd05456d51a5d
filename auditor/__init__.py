"""witnessmark: audit the settings of network management cards in power equipment, offline.

The public door: ``audit`` judges files and folders of records, ``audit_stream`` those of an
estate too large to keep, ``load_program`` chooses the rules. README has a worked example.
"""

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
from auditor.version import VERSION as __version__  # noqa: N811 - the name that Python expects

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
