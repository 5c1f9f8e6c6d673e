"""What all tests share.

How a test runs a command: `from tests.commands import ran`, then `ran("fit", job, cwd=tmp_path)`.
It runs in the tests' own process and gives exit code, output and errors; `run` gives them as
bytes, `refused` the lines of a refusal. A process is started (`process`, or `COMMAND` with
`environment()`) only where a process is what is tested: start-up, imports, encodings, closed
pipes, signals, kills.

Ctrl-C is heard here, whoever started the tests: a shell's background job is born deaf to it, and so
would be every command the tests start.
"""

from __future__ import annotations

import signal

if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    signal.signal(signal.SIGINT, signal.default_int_handler)
