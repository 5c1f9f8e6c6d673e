"""The printing of a page to PDF, by a browser that is installed on this machine.

The browser starts with a profile of its own in a temporary folder. It reads one file and requests
nothing else.
"""

from __future__ import annotations

import os
import shutil
import subprocess
from pathlib import Path
from tempfile import TemporaryDirectory

from specs.errors import InputError, Problem

BROWSERS = (
    "chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome", "msedge",
    "microsoft-edge", "microsoft-edge-stable",
)  # fmt: skip
NAMED = "GAPWRIGHT_BROWSER"
FLAGS = (
    "--headless", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-sync",
    "--disable-background-networking", "--disable-component-update", "--disable-dev-shm-usage",
    "--no-pdf-header-footer",
)  # fmt: skip
SECONDS = 60
PRINT_IT = "write an HTML sheet (-o NAME.html), open it in any browser, and print it from there"


def find_browser() -> str:
    """Return the browser to print with: the one that GAPWRIGHT_BROWSER names, or one on the path.

    Raises InputError where there is none.
    """
    named = os.environ.get(NAMED)
    if named:
        found = shutil.which(named)
        if found is None:
            raise InputError(Problem(f'no such program: "{named}"; {PRINT_IT}', NAMED))
        return found
    for name in BROWSERS:
        found = shutil.which(name)
        if found is not None:
            return found
    raise InputError(
        Problem(
            f"a PDF needs Chromium, Chrome or Edge, and none was found: {PRINT_IT}; or name "
            f"the browser's program in {NAMED}"
        )
    )


def pdf_of(page: str, browser: str) -> bytes:
    """Print a page to PDF, on the paper its style names.

    Raises InputError where the browser makes no PDF within SECONDS.
    """
    with TemporaryDirectory(prefix="gapwright-", ignore_cleanup_errors=True) as name:
        folder = Path(name)
        source, printed = folder / "page.html", folder / "page.pdf"
        source.write_text(page, encoding="utf-8")
        try:
            done = subprocess.run(  # noqa: S603 - the browser found, and flags of our own
                [
                    browser, *FLAGS, *_as_root(), f"--user-data-dir={folder / 'profile'}",
                    f"--print-to-pdf={printed}", source.as_uri(),
                ],
                capture_output=True, check=False, timeout=SECONDS,
            )  # fmt: skip
        except (OSError, subprocess.TimeoutExpired) as error:
            raise _failed(browser, type(error).__name__) from None
        pdf = printed.read_bytes() if printed.exists() else b""
    if done.returncode or not pdf.startswith(b"%PDF"):
        raise _failed(browser, f"exit {done.returncode}")
    return pdf


def _as_root() -> list[str]:
    """Return the flag that root needs, for whom a browser has no sandbox."""
    return ["--no-sandbox"] if hasattr(os, "geteuid") and os.geteuid() == 0 else []


def _failed(browser: str, why: str) -> InputError:
    return InputError(Problem(f"this browser made no PDF ({why}): {PRINT_IT}", browser))
