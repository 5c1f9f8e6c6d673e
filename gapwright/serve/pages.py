"""Every address of the bench page: a further page gets a file of its own and a line here."""

from __future__ import annotations

from gapwright.serve import (
    api_page,
    check_page,
    cover_page,
    edit_page,
    files_page,
    fit_page,
    home_page,
    job_page,
    measure_page,
    own_files,
    plan_asked_page,
    plan_page,
    sheet_page,
    shelf_page,
)
from gapwright.serve.api_told import API
from gapwright.serve.visit import Route

ROUTES = (
    Route("/", home_page.home),
    Route("/measure", measure_page.measure),
    Route("/fit", fit_page.fit, solves=True),
    Route("/sheet", sheet_page.sheet, solves=True),
    Route("/keep", job_page.keep, "POST"),
    Route("/reserve", job_page.reserve, "POST", solves=True),
    Route("/check", check_page.check),
    Route("/checked", check_page.checked, solves=True),
    Route("/cover", cover_page.cover),
    Route("/covered", cover_page.covered, solves=True),
    Route("/files", files_page.files),
    Route("/edit", edit_page.edit),
    Route("/save", edit_page.saved, "POST"),
    Route("/shelf", shelf_page.shelf),
    Route("/move", shelf_page.move, "POST"),
    Route("/bring", shelf_page.bring, "POST"),
    Route("/new-shelf", shelf_page.begin, "POST"),
    Route("/plan", plan_asked_page.ask),
    Route("/make-plan", plan_asked_page.begin, "POST"),
    Route("/plan/{name}", plan_page.plan),
    Route("/plan/{name}/table", plan_page.table),
    Route("/plan/{name}/stop", plan_page.stop, "POST"),
    Route("/bench.css", own_files.style),
    Route("/bench.js", own_files.script),
    Route("/api", api_page.api),
    *API,
)
