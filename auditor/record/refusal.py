"""Why a record is refused: every fault at once, with its place. Slow, and only for what failed."""

from collections.abc import Iterator, Sequence
from itertools import islice
from typing import Any

import orjson

from auditor.errors import Fault
from auditor.record.limits import Limits
from auditor.record.mask import LEAVE_OUT, MASKED, is_masked
from auditor.record.pointer import join
from auditor.record.position import JsonFaultError, Survey, decoded, positions, survey
from auditor.record.schema import card_schema
from auditor.record.wording import describe_errors
