"""Reading a drawing in a child process with little time and memory, and what came of it.

Run as `python -m support.bounded SECONDS BYTES` it takes file names from its input, one a line, and prints
one JSON object for each; every file is read in a process of its own.
"""

from __future__ import annotations

import json
import os
import pathlib
import resource
import signal
import subprocess
import sys
import time
import traceback
from collections import Counter
from dataclasses import asdict, dataclass, field
from types import TracebackType
from typing import Literal

__all__ = ["BoundedReader", "Outcome"]

GIB = 1 << 30


@dataclass(frozen=True)
class Outcome:
    """What reading one file came to; `lost` counts closed loops that no part and no finding accounts for."""

    kind: Literal["read", "refused", "fault", "hang"]
    said: str = ""
    rule: str = ""
    rules: dict[str, int] = field(default_factory=dict)
    parts: int = 0
    lost: int = 0
    seconds: float = 0.0  # of this process alone, so that a busy machine changes little
    memory_mib: float = 0.0


class BoundedReader:
    """Reads files one after the other, each within `seconds` and `memory` bytes of address space."""

    def __init__(self, seconds: int = 60, memory: int = GIB) -> None:
        """Start the process that reads; nothing is read yet."""
        tests = pathlib.Path(__file__).parent.parent
        self._server = subprocess.Popen(
            [sys.executable, "-m", "support.bounded", str(seconds), str(memory)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            env={
                **os.environ,
                "PYTHONPATH": f"{tests}{os.pathsep}{tests.parent}",
                "OPENBLAS_NUM_THREADS": "1",
            },
            text=True,
        )

    def read(self, path: pathlib.Path) -> Outcome:
        """What comes of reading the file."""
        assert self._server.stdin and self._server.stdout
        self._server.stdin.write(f"{path}\n")
        self._server.stdin.flush()
        return Outcome(**json.loads(self._server.stdout.readline()))

    def __enter__(self) -> BoundedReader:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, fault: BaseException | None, trace: TracebackType | None
    ) -> None:
        assert self._server.stdin and self._server.stdout
        self._server.stdin.close()
        self._server.wait(timeout=120)
        self._server.stdout.close()


def _outcome(path: pathlib.Path) -> Outcome:
    from camkit.drawing.read import read
    from camkit.errors import CamkitError
    from support.accounting import unaccounted

    begin = time.process_time()
    try:
        try:
            drawn = read(path)
        except CamkitError as refused:
            if refused.findings[0].rule != "unit-unclear":
                raise
            drawn = read(path, unit="mm")
    except CamkitError as refused:
        first = refused.findings[0]
        told = first.file == path.as_posix() and first.message and first.remedy
        said = str(refused)
        return Outcome(
            "refused" if told and len(said) < 2000 else "fault",
            said[:2000],
            rule=first.rule,
            seconds=time.process_time() - begin,
        )
    except BaseException as fault:  # whatever it is, it is reported as a fault
        lines = traceback.format_exception(fault)
        return Outcome("fault", "".join(lines)[-3000:], seconds=time.process_time() - begin)
    seconds = time.process_time() - begin
    lost = unaccounted(drawn)
    wordless = [finding.rule for finding in drawn.findings if not finding.message or not finding.file]
    silent = not drawn.parts and not any(finding.level == "error" for finding in drawn.findings)
    said = "\n".join(str(finding) for finding in drawn.findings)
    faults = [f"findings without words or file: {wordless}"] if wordless else []
    faults += ["no parts and no error"] if silent else []
    faults += [f"{lost} loops lost"] if lost else []
    return Outcome(
        "fault" if faults else "read",
        "\n".join((*faults, said))[:4000],
        rules=dict(Counter(finding.rule for finding in drawn.findings)),
        parts=len(drawn.parts),
        lost=lost,
        seconds=seconds,
    )


def _in_child(path: pathlib.Path, seconds: int, memory: int) -> Outcome:
    take, give = os.pipe()
    child = os.fork()
    if not child:
        os.close(take)
        signal.alarm(seconds)
        resource.setrlimit(resource.RLIMIT_AS, (memory, memory))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
        outcome = _outcome(path)
        with os.fdopen(give, "w") as stream:
            json.dump(asdict(outcome), stream)
        os._exit(0)
    os.close(give)
    with os.fdopen(take) as stream:
        answer = stream.read()
    _, status, usage = os.wait4(child, 0)
    if answer:
        return Outcome(**{**json.loads(answer), "memory_mib": usage.ru_maxrss / 1024})
    if os.WIFSIGNALED(status) and os.WTERMSIG(status) == signal.SIGALRM:
        return Outcome("hang", f"not read within {seconds} s")
    return Outcome("fault", f"the child ended with status {status}")


def _serve(seconds: int, memory: int) -> None:
    import camkit.drawing.read  # noqa: F401  (once, for all children)

    for line in sys.stdin:
        outcome = _in_child(pathlib.Path(line.rstrip("\n")), seconds, memory)
        print(json.dumps(asdict(outcome)), flush=True)


if __name__ == "__main__":
    _serve(int(sys.argv[1]), int(sys.argv[2]))
