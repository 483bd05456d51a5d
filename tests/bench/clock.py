"""How the bench measures: processor time of whole commands, in turns, the least of several rounds.

Processor time (user and system) hardly depends on who else uses the machine; against what is
left of that the commands take turns, and the least of each counts.
"""

import os
import subprocess
from collections.abc import Sequence
from typing import TypeAlias

Command: TypeAlias = Sequence[str]

_FINISHED = (0, 1)
"""How a command ends that did its work: an audit that is held ends with 1."""


def cpu_seconds(command: Command) -> float:
    """Return the processor seconds of one run, with compiled bytecode as an installation has it.

    Raises:
        RuntimeError: if the command did not do its work.
    """
    cached = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    process = subprocess.Popen(command, env=cached, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)  # noqa: S603
    _, status, used = os.wait4(process.pid, 0)
    if os.waitstatus_to_exitcode(status) not in _FINISHED:
        raise RuntimeError(f"{command[0]} ended with status {status}")
    return used.ru_utime + used.ru_stime


def least_cpu_seconds(*commands: Command, rounds: int) -> tuple[float, ...]:
    """Return the least processor seconds of each command, over rounds in which each runs once."""
    runs = [[cpu_seconds(command) for command in commands] for _ in range(rounds)]
    return tuple(min(times) for times in zip(*runs, strict=True))
