"""What all tests share: Ctrl-C is heard, whoever started them.

A shell's background job is born deaf to it, and so would be every command the tests start.
"""

from __future__ import annotations

import signal

if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    signal.signal(signal.SIGINT, signal.default_int_handler)
