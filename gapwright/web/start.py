"""Opens a folder as pages, with the names that the server accepts and its token."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from typing import TYPE_CHECKING

from gapwright.web.app import App, Server, app_of
from gapwright.web.folder import Shop
from gapwright.web.openapi import schemas
from gapwright.web.routes import ROUTES
from gapwright.web.security import LOOPBACK, Sessions, hosts_of
from specs.errors import InputError, Problem

if TYPE_CHECKING:
    from pathlib import Path

SHORTEST = 12  # characters of a token that is not guessed


@dataclass(frozen=True, slots=True)
class Lan:
    """Access for other machines, with a token and further names of the server."""

    token: str = ""
    """Empty for a new one."""
    names: tuple[str, ...] = ()


def open_shop(
    folder: Path, shelf: str = "", seconds: float = 10.0, lan: Lan | None = None
) -> tuple[App, str]:
    """Make the web application for a folder.

    Parameters
    ----------
    folder
        The folder with units, shelves and jobs.
    shelf
        The shelf for all jobs; empty where each job names its own.
    seconds
        The time limit of one search.
    lan
        Access for other machines; None for this machine alone.

    Returns
    -------
    app : App
        The application.
    token : str
        The token it requires; empty where it requires none.

    Raises
    ------
    InputError
        Where there is no such folder, or the token is easily guessed.
    """
    if not folder.is_dir():
        sentence = "is no folder; name the one your units, shelves and jobs lie in"
        raise InputError(Problem(sentence, str(folder)))
    shop = Shop(folder, shelf, seconds)
    token = _token(lan)
    hosts = hosts_of(lan.names) if lan else LOOPBACK
    return app_of(Server(shop, hosts, Sessions(token)), ROUTES, schemas), token


def _token(lan: Lan | None) -> str:
    if lan is None:
        return ""
    token = lan.token.strip()
    if token and len(token) < SHORTEST:
        sentence = f"is easily guessed: use {SHORTEST} characters or more, or leave it out"
        raise InputError(Problem(sentence, "--token"))
    return token or secrets.token_urlsafe(18)
