"""Connections that are not kept waiting for ever for a request that never ends."""

from __future__ import annotations

from typing import TYPE_CHECKING

import h11
from uvicorn.protocols.http.h11_impl import H11Protocol

if TYPE_CHECKING:
    import asyncio

HEAD_SECONDS = 5.0
"""How often a connection is looked at; it is closed where a request is unfinished twice."""


class PatientProtocol(H11Protocol):
    """HTTP as uvicorn speaks it, closing connections whose request does not come."""

    _late = False

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Begin to look at it from time to time."""
        super().connection_made(transport)
        self.loop.call_later(HEAD_SECONDS, self._look)

    def _look(self) -> None:
        """Close it where nothing whole came since it was opened, or since the last look."""
        if self.transport.is_closing():
            return
        begun, _ = self.conn.trailing_data
        unfinished = self.conn.their_state is h11.IDLE and (self.cycle is None or bool(begun))
        if unfinished and self._late:
            self.transport.close()
            return
        self._late = unfinished
        self.loop.call_later(HEAD_SECONDS, self._look)
